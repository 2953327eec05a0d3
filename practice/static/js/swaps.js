// After a part of the page was swapped, the focus is on what was tapped, and what changed is read out.
//
// htmx brings the focus back to what has the same id. Here is the rest: what has the same name and value, then the
// part itself. `data-news` marks what is read out of a part, its
// value or its text; the region that reads it stays, because one that comes with the swap is often not heard.

let tapped = null;

/** The element in the new part that does what the tapped one did. */
function again(part) {
  const { name, value, tagName } = tapped;
  return [...part.querySelectorAll(tagName)].find((each) => name && each.name === name && each.value === value);
}

function focusAgain(part) {
  const found = again(part) ?? part;
  if (found === part) part.tabIndex = -1;
  found.focus({ preventScroll: true });
}

document.addEventListener("htmx:beforeSwap", ({ detail }) => {
  const asked = detail.requestConfig.elt;
  tapped = asked.matches("a, button, input") && detail.target.contains(asked) ? asked : null;
});
document.addEventListener("htmx:afterSettle", ({ detail }) => {
  const part = detail.elt;
  const isLost = !document.activeElement || document.activeElement === document.body;
  if (tapped && isLost) focusAgain(part);
  tapped = null;
  const news = part.matches("[data-news]") ? part : part.querySelector("[data-news]");
  if (news) document.getElementById("news").textContent = news.dataset.news || news.innerText;
});
