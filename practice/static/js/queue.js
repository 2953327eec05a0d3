// A form with `data-entry` is recorded on this phone first, then sent: at once where the server is there, else as
// soon as it is. `data-then` is the kept page to go to without signal.

import { heard, setCounts } from "./badge.js";
import { letGo, NEVER_KEPT, tokenOf } from "./drafts.js";
import { drop, keep, kept, send, store } from "./entries.js";
import { part, said } from "./page.js";
import { say } from "./taps.js";

const LOGIN = document.documentElement.dataset.login;
const [LATER, OUT] = ["It goes to the book when there is signal.", `Log in as ${LOGIN} to send it to the book.`];
const FULL = "Not saved: this phone has no room left. Make room, then tap again.";
const SETTLE = "/phone/settle/";
let hasStore = true;
let passing = null; // the form that goes plainly
let again = 0;

/** The entry of a form: what a browser would post. */
function entryOf(form, submitter) {
  const sent = [...new FormData(form, submitter)];
  const files = sent.filter(([, value]) => value.name).map(([name, file]) => [name, file, file.name]);
  const fields = sent.filter(([name, value]) => typeof value === "string" && !NEVER_KEPT.includes(name));
  const action = submitter?.getAttribute("formaction") ?? form.getAttribute("action") ?? "";
  const { pathname, search } = new URL(action, location.href);
  const named = [...form.elements].find(({ dataset, value }) => "names" in dataset && value);
  const called = named?.selectedOptions?.[0].text ?? named?.value;
  const title = form.dataset.entry + (called ? `: ${called}` : "");
  return { uuid: tokenOf(form), login: LOGIN, at: Date.now(), path: pathname + search, title, called, fields, files };
}

function tell(words) {
  const main = part("main");
  main.prepend(part("told").content.cloneNode(true));
  main.querySelector(".message span").append(words); // once it stands there, so that it is read out
}

function goPlainly(form, submitter) {
  delete form.isRecorded;
  passing = form;
  form.requestSubmit(submitter);
  passing = null;
}

async function record(event) {
  const { target: form, submitter } = event;
  if (!hasStore || !LOGIN || form === passing || !("entry" in form.dataset) || submitter?.name === "offer") return;
  if (location.pathname.startsWith(SETTLE)) return; // a form of an entry that is to settle
  event.preventDefault();
  event.stopImmediatePropagation();
  if (form.isRecorded) return; // a second tap
  form.isRecorded = true;
  const entry = entryOf(form, submitter);
  try {
    await keep(entry);
  } catch {
    if (!hasStore || navigator.onLine) return goPlainly(form, submitter);
    delete form.isRecorded;
    return say(submitter ?? form, FULL);
  }
  navigator.storage?.persist?.();
  const { login = LOGIN, answer } = await sendNow(entry.uuid);
  if (answer?.state === "refused") return goPlainly(form, submitter); // its page says why
  letGo(form);
  if (answer) return location.assign(answer.then || SETTLE);
  navigator.serviceWorker?.ready.then(({ sync }) => sync?.register("entries")).catch(() => {});
  const then = (form.dataset.then || "/phone/entries/").replace("/~/", `/~${entry.uuid}/`);
  const words = login === LOGIN ? LATER : OUT;
  if (login === LOGIN && !(await caches.match(then.replace(/~\w+/g, "~"), { ignoreVary: true }))) return tell(words);
  sessionStorage.setItem("told", words);
  location.assign(then);
}

/** Send what waits here; return who is logged in, and what the server says of the entry `live`. */
async function sendNow(live = "") {
  clearTimeout(again);
  let answer = {};
  try {
    answer = await send(live);
    heard(true);
  } catch {
    heard(false);
  }
  await show(answer.to_settle);
  return answer;
}

/** Show what is here and how many are to settle; while something waits, try again and again. */
async function show(toSettle) {
  const entries = await kept();
  setCounts(entries.length, toSettle);
  const section = part("entries");
  section?.querySelector("ul").replaceChildren(...entries.map(entry => rowOf(section, entry)));
  clearTimeout(again);
  if (entries.length) again = setTimeout(sendNow, 20000);
}

function rowOf(section, { uuid, title, at, login }) {
  const row = section.querySelector("template").content.cloneNode(true);
  const [name, more, button] = row.querySelectorAll(".row-name, .row-more, button");
  name.textContent = title;
  more.textContent = login === LOGIN ? said(at) : `${said(at)}. Log in as ${login} to send it.`;
  button.addEventListener("click", async () => {
    const gone = (await kept()).filter(each => each.uuid === uuid || each.path.includes(`~${uuid}`));
    const also = gone.length > 1 ? " What you entered for it goes with it." : "";
    if (!confirm(`Delete “${title}”? It is not in the book.${also}`)) return;
    for (const each of gone) await drop(each.uuid);
    await show();
  });
  return row;
}

document.addEventListener("submit", record, true);
addEventListener("online", () => sendNow());
addEventListener("pageshow", () => {
  for (const form of document.forms) delete form.isRecorded;
});
store().then(
  async () => {
    const told = sessionStorage.getItem("told");
    sessionStorage.removeItem("told");
    if (told) tell(told);
    if ((await kept()).length) await sendNow();
    else await show();
  },
  () => (hasStore = false), // forms go plainly
);
