// What is on this phone only, on the round, at a stop and at a horse: its line says so, and what is next follows.
// `data-line`, `data-step` and `data-waits` name the forms by which it is recorded; of the steps, the first one that
// is not is shown. What a form of the address `data-made` makes, on the day `data-on`, gets a row
// of the template in the list before it.

import { kept } from "./entries.js";

const mine = ({ login }) => login === document.documentElement.dataset.login;
const entries = (await kept().catch(() => [])).filter(mine);
for (const each of document.querySelectorAll("[data-made]")) {
  for (const { uuid, path, called, fields } of entries) {
    const day = fields.find(([name]) => name === "date")?.[1] || path;
    if (!called || !path.split("?")[0].endsWith(each.dataset.made) || !day.includes(each.dataset.on)) continue;
    const rows = each.previousElementSibling;
    rows.insertAdjacentHTML("beforeend", each.innerHTML.replaceAll("/~/", `/~${uuid}/`));
    rows.lastElementChild.querySelector(".row-name").textContent = called;
  }
}
const sent = entries.map(({ path }) => path);
const isSent = names => names.split(" ").some(name => sent.includes(name));
for (const line of document.querySelectorAll("[data-line]")) {
  if (!isSent(line.dataset.line)) continue;
  const { form } = line;
  if (!form) line.textContent = "Saved on this phone";
  else line.remove(); // one horse fewer for The rest as last time
  if (form && !form.elements.horse) form.hidden = true;
}
const steps = [...document.querySelectorAll("[data-step]")];
const next = steps.find(({ dataset }) => !isSent(dataset.step));
const heading = document.querySelector("h1[data-next]");
if (heading && next?.hidden) heading.textContent = `${next.querySelector(".thumb-say").textContent.trim()}.`;
for (const step of steps) step.hidden = step !== next;

const aisle = [...document.querySelectorAll(".aisle a")];
const here = aisle.findIndex(each => each.ariaCurrent);
if (here >= 0 && sent.length) {
  const others = [...aisle.slice(here + 1), ...aisle.slice(0, here)];
  const follows = others.find(({ dataset }) => dataset.waits && !isSent(dataset.waits));
  const form = document.getElementById("horse");
  form.dataset.then = follows?.pathname ?? location.pathname.replace(/horses.*/, "");
  const save = form.querySelector(".thumb [name=save]");
  if (save) save.textContent = follows ? `Save, then ${follows.querySelector("b").textContent}` : "Save";
}
