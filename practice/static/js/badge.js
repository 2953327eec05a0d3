// The badge at the top: "Saved", "Not saved yet", "No connection", or nothing where nothing is known.

let isUnsaved = false;
let wasSaved = false;
let isOffline = false;
let heardAt = performance.now(); // when the server was last heard from; this page is from it
let retry = 0;

const PATIENCE = 4000; // how long the server may take to say that it is there
const JUST_NOW = 10000; // where it was not there, it is asked again after as long

function show() {
  const badge = isOffline ? "offline" : isUnsaved ? "unsaved" : wasSaved ? "saved" : "";
  for (const each of document.querySelectorAll("[data-badge]")) {
    each.hidden = each.dataset.badge !== badge;
  }
}

/** Say whether a form on this page holds something that is not saved. */
export function setUnsaved(value) {
  isUnsaved = value;
  if (value) wasSaved = false;
  show();
}

/** Say that the server just saved a form. */
export function setSaved() {
  wasSaved = true;
  show();
}

/** Show how many entries are on this phone and, where it is known, how many are to settle. */
export function setCounts(here, toSettle) {
  for (const [name, count] of Object.entries({ here, settle: toSettle })) {
    const link = document.querySelector(`[data-count="${name}"]`);
    if (!link || count === undefined) continue;
    link.hidden = !count;
    link.firstElementChild.textContent = count;
  }
}

/** The server answered, or it did not; while it does not, it is asked again and again. */
export function heard(value) {
  if (value) heardAt = performance.now();
  isOffline = !value;
  clearTimeout(retry);
  if (isOffline) retry = setTimeout(isReachable, JUST_NOW);
  show();
}

/** Whether a request would likely reach the server: it was heard from just now. */
export const wasHeardJustNow = () => navigator.onLine && !isOffline && performance.now() - heardAt < JUST_NOW;

/** Ask the server whether it is there. The browser's word for "offline" is about networks, not about us. */
export async function isReachable() {
  try {
    await fetch("/health/", { cache: "no-store", signal: AbortSignal.timeout(PATIENCE) });
    heard(true);
  } catch {
    heard(false);
  }
  return !isOffline;
}

addEventListener("offline", isReachable);
addEventListener("online", isReachable);
if (!navigator.onLine) isReachable();
