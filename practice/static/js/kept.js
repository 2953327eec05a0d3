// Lets the service worker keep what a phone needs without signal; says of a page that it is a kept one.

import { isReachable } from "./badge.js";
import { part, said } from "./page.js";

const { worker, drafts: login, kept } = document.documentElement.dataset;
export const NOTHING = `keeps nothing ${login}`; // chosen on the page of what is kept

/** Let the worker keep the pages; `anew`: all of them. */
export async function keep(anew) {
  if (anew) localStorage.removeItem(NOTHING);
  else if (localStorage.getItem(NOTHING)) return;
  await navigator.serviceWorker.register(worker);
  (await navigator.serviceWorker.ready).active.postMessage(anew);
}

export function keepNothing() {
  localStorage.setItem(NOTHING, "yes");
  return caches.delete("pages");
}

if (kept) {
  const line = part("as-of");
  line.querySelector("b").textContent = said(+kept);
  line.hidden = false;
  isReachable(); // the badge says so, and the worker hears when the book is back
} else if (worker && navigator.serviceWorker) {
  const begin = () => keep(false).catch(() => {}); // without it, only with signal
  addEventListener("load", begin);
}
