// What is on this phone only, on the round and at a stop: its line says so, and what is next follows from it.
// `data-line` and `data-step` name the forms by which it is recorded; of the steps, the first one that is not is shown.

import { kept } from "./entries.js";

const sent = (await kept().catch(() => [])).map(({ path }) => path);
const isSent = (names) => names.split(" ").some((name) => sent.includes(name));
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
