"""The signs that a foot can show, which a practice starts with.

The list is common practice, no source. Those for the veterinarian are the ones that this program says to call
about: pus, heat, a strong pulse, a wound, something driven in, sudden lameness.
"""

FIRST_SIGNS = (
    "red or purple sole",
    "pus draining",
    "black, foul frog",
    "crack",
    "separation",
    "flare",
    "pain to the hoof testers",
    "loose nail",
    "sprung shoe",
    "heat",
    "strong pulse",
    "wound",
    "something driven in",
    "sudden lameness",
)
FOR_VET = {"pus draining", "heat", "strong pulse", "wound", "something driven in", "sudden lameness"}
# How plain a sign was, as most say it; anything else is in the farrier's own words.
MARKED = ("slight", "moderate", "severe")
