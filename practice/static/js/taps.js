// A tap that reached nobody says so beside it. Works for what htmx sends and for plain forms.

import { heard, isReachable, wasHeardJustNow } from "./badge.js";

const TWICE = 3000; // a second tap on the same Save within this time is not meant
let passing = null; // the form that may go, after the server was found to be there

/** The button to stand beside: a hidden one is for the Enter key, and the visible one says what it does. */
function visible(element) {
  const hidden = element.matches("form, body, .away");
  return (hidden && element.closest("form")?.querySelector(".act")) || element;
}

function clear() {
  for (const each of document.querySelectorAll(".failed")) each.remove();
}

/** Say beside an element why its tap did nothing. */
export function say(element, words) {
  clear();
  const button = visible(element);
  const message = document.getElementById("failed").content.cloneNode(true);
  const place = button.closest(".stepper, label, .grid") ?? button;
  place.after(message);
  // Filled in once it stands there, so that it is read out.
  place.nextElementSibling.lastElementChild.textContent = words;
  place.nextElementSibling.scrollIntoView({ block: "nearest" });
}

/** What to say of a button that was tapped, and of what asks by itself, such as a sum. */
const words = (element, why) =>
  element.matches("button, form") ? `Not saved: ${why}. Tap again.` : `Not up to date: ${why}.`;

function failed({ detail }, why) {
  const { elt } = detail.requestConfig;
  if (elt.getAttribute("hx-trigger") === "load") return; // nobody tapped it, and a link stands in its place
  say(elt, words(elt, why));
}

/** What has `data-quiet` says that itself: nothing was lost. */
function unreached(event) {
  heard(false);
  const { elt } = event.detail.requestConfig;
  if (elt.dataset.quiet) elt.lastElementChild.after(elt.dataset.quiet);
  else failed(event, "no connection");
}

document.addEventListener("htmx:sendError", unreached);
document.addEventListener("htmx:timeout", unreached);
document.addEventListener("htmx:beforeRequest", clear);
document.addEventListener("htmx:beforeOnLoad", () => heard(true));
document.addEventListener("htmx:responseError", event => {
  const number = event.detail.xhr.getResponseHeader("Roundbook-Error");
  failed(event, number ? `something went wrong (error ${number})` : "something went wrong");
});

// A plain form leaves the page, which would be lost without a connection: so look first, unless the server
// was heard from just now.
document.addEventListener("submit", async (event) => {
  const form = event.target;
  if (event.defaultPrevented || form.method !== "post") return;
  const now = performance.now();
  if (now - (form.sentAt ?? -TWICE) < TWICE) return event.preventDefault();
  if (passing !== form && !wasHeardJustNow()) {
    event.preventDefault();
    clear();
    if (!(await isReachable())) return say(event.submitter ?? form, words(form, "no connection"));
    passing = form;
    form.requestSubmit(event.submitter);
    return;
  }
  passing = null;
  form.sentAt = now;
});
addEventListener("pageshow", () => {
  for (const form of document.forms) delete form.sentAt;
});
