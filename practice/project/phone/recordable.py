"""Which forms a phone may record without signal: those that carry `data-entry` on their pages."""

# The names of their addresses. Nothing else that a phone sends is tried.
RECORDABLE = {
    "practice:client-add",
    "practice:finding-add",
    "practice:finding-told",
    "practice:horse-add",
    "practice:place-add",
    "practice:readings",
    "practice:visit-arrive",
    "practice:visit-as-last-time",
    "practice:visit-complete",
    "practice:visit-feet",
    "practice:visit-horse",
    "practice:visit-horse-add",
    "practice:visit-next-call",
    "practice:visit-plan",
    "billing:payment-add",
}
