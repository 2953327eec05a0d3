// The form of a horse at a visit: no tap is lost while the answer to another is under way.
//
// A stepper counts here, and its field says that it changed, so that the sum follows. Every other tap goes to the
// server, which sends the form as the tap leaves it; a tap made meanwhile waits for that form and is made there.

const WHOLE = /^\d+$/;
const waiting = [];
let isUnderWay = false;

/** Count a field up or down by one, never below 0; return whether that could be done here. */
function count(button) {
  const field = button.parentElement.querySelector("input");
  const by = Number(button.value.split(":").at(-1));
  const typed = field.value.trim() || "0";
  if (!WHOLE.test(typed)) return false;
  field.value = String(Math.max(Number(typed) + by, 0));
  for (const name of ["input", "change"]) field.dispatchEvent(new Event(name, { bubbles: true }));
  return true;
}

/** Tap the same thing on the form that is shown now, if it still stands there. */
function tapAgain({ name, value }) {
  const form = document.getElementById("horse");
  const same = [...(form?.elements ?? [])].find((each) => each.name === name && each.value === value);
  same?.click();
}

function clicked(event) {
  const tap = event.target.closest("#horse [name][hx-post], #horse [name=step]");
  if (!tap) return;
  const isCounted = tap.name === "step" && count(tap);
  if (!isCounted && isUnderWay) waiting.push({ name: tap.name, value: tap.value });
  if (isCounted || isUnderWay) {
    event.preventDefault();
    event.stopPropagation();
  }
}

document.addEventListener("click", clicked, true);
document.addEventListener("htmx:beforeRequest", (event) => {
  if (event.detail.target.id === "horse") isUnderWay = true;
});
document.addEventListener("htmx:afterRequest", (event) => {
  if (event.detail.target?.id !== "horse" || event.detail.successful) return;
  isUnderWay = false;
  waiting.length = 0;
});
// The form that came stands and answers to taps.
document.addEventListener("htmx:load", () => {
  isUnderWay = false;
  const next = waiting.shift();
  if (next) tapAgain(next);
});
