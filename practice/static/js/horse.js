// The form of a horse at a visit answers each tap here, with and without signal.
//
// The fields hold what Save sends: a tap reads them, follows the rules, and fills them in again. The page has every
// piece already, shown or hidden, and what a tap must know (reports/horse_taps.py). Only the total is the server's.

import { fill, letGo } from "./drafts.js";
import { kept } from "./entries.js";
import { add, chooseNail, chooseShoe, chosen, FEET, isZero, PAIRS, tapFoot, tapService } from "./horse_work.js";
import { part } from "./page.js";

const form = part("horse");
const all = selector => [...form.querySelectorAll(selector)];
const { mark, words, services, nail, blank, last, isRecorded, repeats, items } = JSON.parse(part("taps").textContent);
const NUMBER = new RegExp(`^\\d*(\\${mark}\\d*)?$`);
let open = ""; // the foot whose sizes are shown
let isRestored = false; // whether a draft stands in the form
let isAsked = false; // whether the total of what is shown was asked for

function read() {
  const data = new FormData(form);
  const state = { ...Object.fromEntries(data), work: data.getAll("work"), foot: data.getAll("foot") };
  return NUMBER.test(state.nails) ? state : { ...state, nails: "0" };
}

/** Let the lines of work be these, each with its fields. */
function setLines(keys) {
  for (const each of all("[name=work]")) if (!keys.includes(each.value)) each.parentElement.remove();
  for (const key of keys) {
    const service = services[key.split("-")[0]];
    if (!service || !/^[\d-]+$/.test(key)) continue; // one that is gone since
    if (!part(`line-${key}`)) {
      part("lines").insertAdjacentHTML("beforeend", part("line").innerHTML.replaceAll("LINE", key));
      part(`line-${key}`).textContent = service.name;
    }
    part("lines").append(part(`line-${key}`).parentElement);
  }
}

/** Fill in what a tap changed; a number that cannot be read stays as it was typed. */
function write(before, next) {
  setLines(next.work);
  for (const each of form.elements) {
    if (each.name === "foot") each.checked = next.foot.includes(each.value);
    else if (each.name !== "work" && next[each.name] !== before[each.name]) each.value = next[each.name] ?? "";
  }
}

const onFoot = (state, foot) => tapFoot(state, foot, services);
const same = state => state;
const TAPS = {
  last: state => ({ ...state, ...blank, ...last }),
  clear: state => ({ ...state, ...blank }),
  pick: (state, key) => tapService(state, key, services, nail),
  on: onFoot,
  off: onFoot,
  open: same,
  changed: same,
  size: (state, which, item) =>
    which === "nail" ? chooseNail(state, item) : chooseShoe(state, PAIRS[which] ?? [which], item),
  step: (state, name, by) =>
    NUMBER.test(state[name]) ? { ...state, [name]: add(state[name], Number(by)) } : state,
};

function tapped(event) {
  const button = event.target.closest("button");
  const { name, value } = button ?? {};
  if (!TAPS[name]) return;
  event.preventDefault();
  const [before, was] = [read(), open];
  write(before, TAPS[name](before, ...value.split(":")));
  open = name === "open" ? value : "";
  if (["last", "clear", "pick"].includes(name)) form.elements.as_last_time.value = name === "last" ? "True" : "False";
  for (const each of all(".errors, .asks, .error:not([id])")) each.remove();
  changed();
  if (name !== "step") place();
  if (button.getClientRects().length) return;
  (part(`foot-${was}`) ?? all("#filled:not([hidden]) button, #last")[0]).focus({ preventScroll: true });
}

const changed = () => form.elements.as_last_time.dispatchEvent(new Event("change", { bubbles: true }));

/** Items with a count stand in sight, the others are folded away. */
function place() {
  for (const row of all("#used > li, #unused > li")) {
    const list = part(isZero(count(row)) ? "unused" : "used");
    if (row.parentElement !== list) list.append(row);
  }
}

// --- what the page shows of the fields

const shown = (each, is) => (each.hidden = !is);
const count = row => row.querySelector("input").value;

function show() {
  const state = read();
  const works = chosen(state).map(key => services[key]);
  const cycle = works.filter(({ resets }) => resets);
  const used = all("[data-kind]").filter(row => !isZero(count(row)));
  const cautions = [
    ...used.map(row => row.dataset.kind),
    state.nail && "nails",
    works.some(({ isHot }) => isHot) && "hot",
    cycle.length && !cycle.some(({ nailed }) => nailed) && "trim",
  ];
  for (const each of all("[data-when]")) shown(each, each.dataset.when.split(" ").some(one => cautions.includes(one)));
  for (const each of all("[data-free]")) {
    const price = state[`price_${each.dataset.free}`];
    shown(each, price && isZero(price));
  }
  for (const each of all("[name=pick]")) each.ariaPressed = chosen(state).includes(each.value);
  for (const foot of FEET) showFoot(state, foot, cycle.length ? words.trim : words.bare);
  showSizes(state);
  shown(part("nail"), state.nail);
  for (const name of ["b", "small"]) part("nail").querySelector(name).textContent = items[state.nail]?.[name];
  shown(part("lines"), works.length);
  part("lines").open ||= state.work.some(line => state[`price_${line}`]);
  const isAgain = state.as_last_time === "True";
  if (last) [part("filled").hidden, part("last").hidden] = [!isAgain, isAgain || works.length > 0];
  const isRepeated = repeats && !works.length && !state.foot.length && !state.nail && !used.length;
  shown(part("repeat"), isRepeated);
  shown(part("save"), !isRepeated);
  const [said] = all("#sum > span");
  said.textContent = (isRepeated && repeats) || works.map(({ name }) => name).join(", ") || words.nothing;
}

function showFoot(state, foot, bare) {
  const button = part(`foot-${foot}`);
  const { wears } = button.dataset;
  const [isOn, shoe] = [state.foot.includes(foot), items[state[`shoe_${foot}`]]];
  button.name = !isOn ? "on" : open === foot ? "changed" : "open";
  button.className = isOn ? "on" : wears && "worn";
  button.ariaPressed = isOn;
  button.ariaExpanded = isOn ? open === foot : null;
  button.querySelector("small").textContent = isOn ? (shoe?.small ?? words.reset) : wears || bare;
  const [row] = all(`[data-shoe=${foot}]`);
  shown(row, isOn && shoe);
  row.querySelector("span").textContent = shoe?.b;
}

/** Show the sizes of the foot that is open: those of its pair, but for the other side's. And which are chosen. */
function showSizes(state) {
  shown(part("foot-sizes"), open);
  if (open) {
    const pair = PAIRS.front.includes(open) ? "front" : "hind";
    const grid = all(`[data-pair=${pair}] table`).map(each => each.cloneNode(true));
    part("which-shoe").textContent = part(`foot-${open}`).dataset.question;
    part("which-shoe").nextElementSibling.replaceChildren(...grid);
    for (const each of all(`#foot-sizes [data-side=${open[0] === "L" ? "right" : "left"}]`)) each.remove();
    for (const each of all("#foot-sizes button")) each.value = each.value.replace(/^\w*/, open);
  }
  for (const each of all(".grid button")) {
    const [which, item] = each.value.split(":");
    const feet = (PAIRS[which] ?? [which]).filter(foot => state.foot.includes(foot));
    const isChosen = which === "nail" ? state.nail === item : feet.some(foot => state[`shoe_${foot}`] === item);
    each.parentElement.classList.toggle("chosen", isChosen);
    each.ariaPressed = isChosen;
  }
}

function refill(pairs) {
  setLines(pairs.filter(([name]) => name === "work").map(([, key]) => key));
  fill(form, pairs);
  place();
  changed();
}

/** What this phone recorded and has not sent yet stands in the form; `earlier` tells the server that it is known. */
async function showRecorded() {
  const { login } = document.documentElement.dataset;
  const entries = await kept().catch(() => []);
  const here = entries.findLast(each => each.path === location.pathname && each.login === login);
  if (!here) return;
  const sent = here.fields.filter(([name]) => !["earlier", "opened"].includes(name));
  form.elements.earlier.value = new URLSearchParams(sent);
  if (isRestored) return;
  shown(part("recorded"), true);
  if (sent.some(([name]) => name === "again")) write(read(), TAPS.last(read()));
  else refill(sent);
  letGo(form);
  show();
}

/** A total that may be wrong by now is not shown: the server says the new one, where it can. */
function retotal() {
  isAsked = false;
  part("sum").replaceChildren(part("sum").querySelector("span"));
  part("nothing").hidden = true;
  show();
}

part("sum").addEventListener("htmx:beforeRequest", () => (isAsked = true));
part("sum").addEventListener("htmx:beforeSwap", ({ detail }) => (detail.shouldSwap &&= isAsked));
form.addEventListener("click", tapped);
form.addEventListener("input", retotal);
form.addEventListener("change", retotal);
form.addEventListener("restore", event => {
  event.preventDefault();
  isRestored = true;
  refill(event.detail);
});
addEventListener("DOMContentLoaded", showRecorded);
const refuse = event => {
  const isMarked = all("[name=seen]").some(each => each.checked !== each.defaultChecked);
  if (event.target !== form || event.submitter?.name === "again" || read().work.length || isRecorded || isMarked) return;
  event.preventDefault();
  event.stopImmediatePropagation();
  part("nothing").hidden = false;
};
addEventListener("submit", refuse, true);
