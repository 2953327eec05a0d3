// The field at the top of every page: what is found opens below it. Arrow keys choose, Enter opens, Escape closes.
// htmx asks the server while one types; without this, Enter leads to the page of all that is found.

const field = document.getElementById("find");
const hits = () => document.getElementById("hits");
const options = () => [...hits().children];
let chosen = -1;

function choose(at) {
  chosen = at;
  for (const [each, option] of options().entries()) option.ariaSelected = each === at;
  field.removeAttribute("aria-activedescendant");
  if (at < 0) return;
  field.setAttribute("aria-activedescendant", options()[at].id);
  options()[at].scrollIntoView({ block: "nearest" });
}

function show(isOpen) {
  hits().hidden = !isOpen;
  field.ariaExpanded = isOpen;
  choose(-1);
}

/** The next option down or up, the field itself between the last one and the first. */
function step(by) {
  const places = options().length + 1;
  choose(((chosen + 1 + by + places) % places) - 1);
}

function pressed(event) {
  const isOpen = !hits().hidden;
  const by = { ArrowDown: 1, ArrowUp: -1 }[event.key];
  if (by && options().length) {
    if (!isOpen) show(true);
    step(by);
  } else if (event.key === "Enter" && chosen >= 0) {
    options()[chosen].click();
  } else if (event.key === "Escape" && isOpen) {
    show(false);
  } else return;
  event.preventDefault();
}

if (field) {
  Object.assign(field, { role: "combobox", ariaAutoComplete: "list", ariaExpanded: "false" });
  field.addEventListener("keydown", pressed);
  field.addEventListener("focus", () => options().length && show(true));
  field.form.addEventListener("focusout", ({ relatedTarget }) => {
    if (!field.form.contains(relatedTarget)) show(false);
  });
  document.addEventListener("htmx:afterSettle", ({ detail }) => {
    if (detail.elt.id === "hits") show(document.activeElement === field && options().length > 0);
  });
}
