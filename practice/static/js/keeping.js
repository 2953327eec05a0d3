// The page of what this phone keeps: since when each page is here, and how much room they take.

import { keep, keepNothing, NOTHING } from "./kept.js";
import { part, said } from "./page.js";

const [acts, sum, full] = ["acts", "sum", "full"].map(name => part(`kept-${name}`));
const rows = [...document.querySelectorAll("[data-page]")];

/** Say what is here, until all is. */
async function show() {
  const cache = await caches.open("pages");
  let [count, bytes] = [0, 0];
  for (const row of rows) {
    const page = await (await cache.match(row.dataset.page))?.text();
    row.textContent = page ? `As of ${said(+/data-kept="(\d+)/.exec(page)[1])}` : "Not here";
    if (page) [count, bytes] = [count + 1, bytes + page.length];
  }
  sum.textContent = `${count} of ${rows.length} pages, ${(bytes / 1e6).toFixed(1)} MB`;
  full.hidden = !(await caches.has("full"));
  if (full.hidden && count < rows.length && !localStorage.getItem(NOTHING)) setTimeout(show, 1000);
}

if (navigator.serviceWorker && document.documentElement.dataset.worker) {
  acts.hidden = false;
  acts.addEventListener("click", async ({ target }) => {
    if (target.name === "keep") await keep(true);
    if (target.name === "delete") await keepNothing();
    setTimeout(show, 500);
  });
  show();
}
