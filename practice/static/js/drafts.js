// What is typed or tapped in a form stays on this device until the server says that it is saved.
//
// A draft belongs to a login, a page's address and a form on it: no other login on the device sees it, and
// logging out leaves it for the next time. Fields are kept by name, hidden ones too, so that a form that
// carries the state it was opened on still carries that one. Files, passwords and CSRF tokens are never kept.
// The server answers each form with a cookie `form_UUID` (practice/project/sent_forms.py).

import { setSaved, setUnsaved } from "./badge.js";
import { part, said } from "./page.js";

const LOGIN = document.documentElement.dataset.drafts;
const PREFIX = `draft ${LOGIN} `;
// Where this page is, or was while what it is about was on this phone only.
const ADDRESS = location.hash.includes("/~") ? location.hash.slice(1) : location.pathname + location.search;
const KEEP_FOR = 60 * 24 * 60 * 60 * 1000;
export const NEVER_KEPT = ["csrfmiddlewaretoken", "uuid"];
const NO_VALUE = ["button", "file", "image", "password", "reset", "submit"];

// --- reading and filling in the fields of a form

function fields(form) {
  return [...form.elements].filter(
    each => each.name && !each.disabled && !NO_VALUE.includes(each.type) && !NEVER_KEPT.includes(each.name),
  );
}

/** The fields of a form as sorted pairs of name and value; `opened`: as the server sent them. */
function read(form, opened = false) {
  const pairs = [];
  for (const field of fields(form)) {
    if (field.type === "checkbox" || field.type === "radio") {
      if (opened ? field.defaultChecked : field.checked) pairs.push([field.name, field.value]);
    } else if (field.options) {
      const chosen = [...field.options].filter(each => each[opened ? "defaultSelected" : "selected"]);
      if (opened && !chosen.length && !field.multiple && field.options.length) chosen.push(field.options[0]);
      for (const each of chosen) pairs.push([field.name, each.value]);
    } else {
      pairs.push([field.name, opened ? field.defaultValue : field.value]);
    }
  }
  return pairs.sort(([one], [other]) => (one > other) - (one < other));
}

// The state that a form was opened on, which the server signs anew each time (practice/lib/asking.py).
const OPENED = /(^|-)opened$/;

const typed = pairs => JSON.stringify(pairs.filter(([name]) => !OPENED.test(name)));
const isFilledInAlike = (one, other) => typed(one) === typed(other);

export function fill(form, pairs) {
  const values = {};
  for (const [name, value] of pairs) (values[name] ??= []).push(value);
  for (const field of fields(form)) {
    const own = values[field.name] ?? [];
    if (field.type === "checkbox" || field.type === "radio") field.checked = own.includes(field.value);
    else if (field.multiple && field.options) {
      for (const each of field.options) each.selected = own.includes(each.value);
    } else if (own.length) field.value = own.shift();
  }
}

// --- the drafts on this device

function stored(key) {
  try {
    return JSON.parse(localStorage.getItem(key));
  } catch {
    return null;
  }
}

function store(key, draft) {
  try {
    if (draft) localStorage.setItem(key, JSON.stringify(draft));
    else localStorage.removeItem(key);
  } catch {
    // A full or forbidden store: the badge says "Not saved yet" all the same.
  }
}

function storedKeys(prefix) {
  try {
    return Object.keys(localStorage).filter(key => key.startsWith(prefix));
  } catch {
    return [];
  }
}

const refused = new Set(); // the tokens of forms that were sent and not saved

/** Read what the server said of the forms that were sent; return whether one was saved. */
function hearAnswers() {
  let wasSaved = false;
  for (const [, token, answer] of document.cookie.matchAll(/\bform_([0-9a-f]{32})=(\w+)/g)) {
    document.cookie = `form_${token}=; max-age=0; path=/`;
    if (answer === "saved") wasSaved = true;
    else refused.add(token);
    for (const key of storedKeys(PREFIX)) {
      const draft = stored(key);
      if (draft?.token === token) store(key, answer !== "saved" && { ...draft, sent: false });
    }
    for (const state of states.values()) {
      if (state.token === token) Object.assign(state, { sent: false }, answer === "saved" && settled(state));
    }
  }
  return wasSaved;
}

/** What is known of a form that stands on the page as it was saved: Back brought it from memory. */
function settled(state) {
  const form = formOf(state);
  return { isAnswer: false, opened: form ? read(form) : state.opened };
}

const newToken = () => crypto.randomUUID().replaceAll("-", "");

// --- the forms on this page

const states = new Map(); // by the draft's key
const isBack = performance.getEntriesByType("navigation")[0]?.type === "back_forward";

const hasFields = form => form.method === "post" && fields(form).some(field => field.type !== "hidden");
const forms = () => [...document.forms].filter(hasFields);

function keyOf(form) {
  const name = form.id || form.getAttribute("action") || forms().indexOf(form);
  return `${PREFIX}${ADDRESS} ${name}`;
}

const formOf = state => forms().find(form => keyOf(form) === state.key);

function stateOf(form) {
  const key = keyOf(form);
  if (!states.has(key)) {
    const opened = read(form, true);
    states.set(key, { key, opened, token: newToken(), sent: false, isAnswer: false, isHeld: false });
  }
  return states.get(key);
}

// For queue.js: the form's press, and that the form is kept there now.

export const tokenOf = form => stateOf(form).token;

export function letGo(form) {
  store(stateOf(form).key, null);
  states.delete(keyOf(form));
  stateOf(form).opened = read(form);
  showBadge();
}

const isUnsaved = (form, state) => state.isAnswer || !isFilledInAlike(read(form), state.opened);

/** Keep a form as it stands, or drop its draft where it stands as it was opened. */
function keep(form) {
  const state = stateOf(form);
  if (!state.isHeld) {
    const { key, opened, token, sent } = state;
    const title = document.title.replace(/ · Roundbook$/, "");
    const draft = { at: Date.now(), title, values: read(form), opened, token, sent };
    store(key, isUnsaved(form, state) && draft);
  }
  showBadge();
}

function showBadge() {
  setUnsaved(forms().some(form => isUnsaved(form, stateOf(form)) || stateOf(form).isHeld));
}

// --- when a page opens

/** Whether a form carries the state it was opened on: then the server asks before it overwrites anything. */
const asksItself = form => fields(form).some(field => OPENED.test(field.name));

function open(form) {
  const state = stateOf(form);
  const draft = stored(state.key);
  if (isBack) form.reset(); // a browser fills in again by itself what was saved already
  if ("answer" in document.documentElement.dataset) {
    if (draft ? refused.has(draft.token) : form.querySelector(".has-error, .errors")) {
      // The server shows what it got, which is what the draft holds or newer.
      Object.assign(state, { isAnswer: true }, draft && { opened: draft.opened, token: draft.token });
      return keep(form);
    }
  }
  if (!draft) return keep(form);
  if (isFilledInAlike(draft.values, state.opened)) return store(state.key, null);
  if (!isFilledInAlike(draft.opened, state.opened) && !asksItself(form)) {
    state.isHeld = true;
    showBadge();
    return tell("changed", state, () => bring(form, draft));
  }
  bring(form, draft);
}

/** Fill in a draft. A form whose looks follow from what is chosen listens to `restore`, and does it itself. */
function bring(form, draft) {
  const state = stateOf(form);
  Object.assign(state, { isHeld: false, token: draft.token, sent: draft.sent });
  const event = new CustomEvent("restore", { detail: draft.values, cancelable: true });
  if (form.dispatchEvent(event)) fill(form, draft.values);
  keep(form);
  tell(draft.sent ? "unanswered" : "restored", state);
}

/** Say above the page's content what was done with a draft, with buttons to undo or do it. */
function tell(what, state, show = null) {
  const notice = part("restored").content.firstElementChild.cloneNode(true);
  const [showIt, discard] = notice.querySelectorAll("button");
  part("main").prepend(notice);
  notice.querySelector(`[data-told=${what}]`).hidden = false; // once it stands there, so that it is read out
  showIt.hidden = !show;
  showIt.addEventListener("click", () => {
    notice.remove();
    show();
  });
  discard.addEventListener("click", () => {
    store(state.key, null);
    location.replace(location.href);
  });
}

/** List on the first page what is not saved yet, each with its way back. */
function list() {
  const section = part("drafts");
  const drafts = storedKeys(PREFIX).map(key => ({ ...stored(key), url: key.slice(PREFIX.length).split(" ")[0] }));
  if (!section || !drafts.length) return;
  for (const { title, at, url } of drafts.sort((one, other) => other.at - one.at)) {
    const row = section.querySelector("template").content.cloneNode(true);
    row.querySelector("a").href = url;
    row.querySelector(".row-name").textContent = title;
    row.querySelector(".row-more").textContent = said(at);
    section.querySelector("ul").append(row);
  }
  section.hidden = false;
}

// --- what happens on the page

function changed(event) {
  const form = event.target.form;
  if (form && hasFields(form)) keep(form);
}

/** *Keep what is saved* beside a form: what was typed there is given up. */
function discards(event) {
  const form = event.target.closest("a[data-discard]")?.closest("form");
  if (form) store(stateOf(form).key, null);
}

function leaves(event) {
  const form = event.target;
  if (event.defaultPrevented || !hasFields(form)) return;
  stateOf(form).sent = true;
  keep(form);
}

if (LOGIN) {
  for (const key of storedKeys("draft ")) {
    if (!(Date.now() - stored(key)?.at < KEEP_FOR)) store(key, null);
  }
  if (hearAnswers()) setSaved();
  document.addEventListener("input", changed);
  document.addEventListener("change", changed);
  document.addEventListener("click", discards);
  document.addEventListener("submit", leaves);
  document.addEventListener("formdata", event => {
    if (hasFields(event.target)) event.formData.set("uuid", stateOf(event.target).token);
  });
  addEventListener("pageshow", event => {
    if (!event.persisted) return;
    if (hearAnswers()) setSaved();
    for (const form of forms()) keep(form);
  });
  // The modules of the page are there by then, and listen.
  addEventListener("DOMContentLoaded", () => {
    for (const form of forms()) open(form);
  });
  list();
}
