// The service worker: keeps the program and the pages that /phone/kept.json names, and opens them while the
// book cannot be reached. practice/project/phone/program.py puts `program` before it, and `kept` and `send` of
// entries.js.

const { version, files, missing } = self.program;
const LIST = "/phone/kept.json";
const QUIET = { headers: { "Roundbook-Kept": "1" } };
const PATIENCE = [2500, 300]; // for the book; where it was not reached the last time
const AGAIN = 600000; // what may have changed is fetched at most this often
const SAID = /<p\s+class="message\b[^]*?<\/p>/g;

let wipes = 0;
let keeping = Promise.resolve();
const pause = time => new Promise(resolve => setTimeout(resolve, time));
const pages = () => caches.open("pages"); // all that belongs to a login
const get = async (path, ignoreSearch) => (await pages()).match(path, { ignoreVary: true, ignoreSearch });
const list = async () => (await (await get(LIST))?.json()) ?? {};

function wipe() {
  wipes += 1;
  return caches.delete("pages");
}

/** Ask the book. A cache `down` is there while it is not reached; a gateway alone is not the book. */
async function ask(request, options) {
  try {
    const answer = await fetch(request, options);
    if ([502, 504].includes(answer.status)) throw answer;
    await caches.delete("down");
    if (answer.status === 401 || answer.url.startsWith(`${location.origin}/login/`)) await wipe();
    return answer;
  } catch (error) {
    await caches.open("down");
    throw error;
  }
}

/** Keep a page of the list, without what was said above it just then. */
async function store(path, answer) {
  const begun = wipes;
  const { addresses = [] } = await list();
  if (answer.status !== 200 || answer.redirected || !addresses.some(each => each.path === path)) return;
  const body = (await answer.text()).replace(SAID, "").replace("<html", `<html data-kept="${Date.now()}"`);
  if (wipes === begun) await (await pages()).put(path, new Response(body, answer));
}

/** Fetch what is missing, and from time to time what may have changed. */
async function keep(anew) {
  const now = await (await ask(LIST, QUIET)).json();
  let was = await list();
  if (was.login !== now.login) was = (await wipe()) && {};
  const isDue = anew || !was.done || (was.stamp !== now.stamp && Date.now() - was.done > AGAIN);
  const known = { ...now, stamp: isDue ? now.stamp : was.stamp, done: was.done, at: Date.now() };
  const paths = now.addresses.map(({ path }) => path);
  const begun = wipes;
  const cache = await pages();
  await cache.put(LIST, Response.json(known));
  for (const { url } of await cache.keys()) {
    if (![LIST, ...paths].includes(url.slice(location.origin.length))) await cache.delete(url);
  }
  for (const path of paths) {
    if (!isDue && (await get(path))) continue;
    const page = await ask(path, QUIET);
    try {
      await store(path, page);
    } catch {
      return caches.open("full");
    }
    if (wipes !== begun) return;
    await pause(150); // others use the server, too
  }
  if (isDue) known.done = Date.now();
  await cache.put(LIST, Response.json(known));
  for (const name of await caches.keys()) if (![version, "pages"].includes(name)) await caches.delete(name);
}

const day = time => Math.floor(time / 864e5 - new Date(time).getTimezoneOffset() / 1440);

/** The page that is kept for an address. */
async function find({ pathname, search }) {
  if (pathname !== "/round/" || search) return (await get(pathname + search)) ?? get(pathname, true);
  const { rounds, at } = await list();
  return rounds && Response.redirect(rounds[day(Date.now()) - day(at)] ?? rounds[0]);
}

/** The page of a stop or a horse that was made on this phone, and whether it is here alone. */
async function findMade({ pathname }) {
  const [, stop, horse] = /^\/visits\/(~?\w+)\/(?:horses\/(~\w+))?/.exec(pathname) ?? [];
  const made = horse ?? stop;
  if (!made?.startsWith("~")) return {};
  const kind = pathname.replace(/~\w+/g, "~");
  const kept = (await get(kind)) ?? (await get(kind.replace(stop, "~")));
  const entries = await self.kept().catch(() => []);
  const named = key => entries.find(({ uuid }) => `~${uuid}` === key)?.called;
  const html = name => name.replace(/[&<>"']/g, sign => `&#${sign.charCodeAt()};`);
  const put = {
    "visits/~/": `visits/${stop}/`,
    "horses/~/": horse && `horses/${horse}/`,
    "~place": html(named(stop) ?? "The stop"),
    "~horse": html(named(horse) ?? "The horse"),
  };
  const text = (await kept?.text())
    ?.replace(named(made) ? / data-kept="\d+"/ : "", "")
    .replace(/~place|~horse|(visits|horses)\/~\//g, sign => put[sign] ?? sign);
  return { isHere: named(made), page: text && new Response(text, kept) };
}

/** Open a page: from the book, or as it is kept where the book does not answer soon. */
async function open(event, url) {
  const { isHere, page } = await findMade(url);
  if (isHere && page) return page;
  const asked = ask(event.request).then(answer => {
    event.waitUntil(store(url.pathname + url.search, answer.clone()).catch(() => {}));
    return answer;
  });
  event.waitUntil(asked.catch(() => {}));
  const kept = page ?? (await find(url));
  if (!kept) return asked.catch(() => caches.match(missing));
  const time = navigator.onLine ? PATIENCE[+(await caches.has("down"))] : 0;
  return Promise.race([asked, pause(time).then(() => kept)]).catch(() => kept);
}

addEventListener("install", event => {
  // Where a browser can, it takes files from here without asking the worker for each.
  event.addRoutes?.({ condition: { urlPattern: "/static/*" }, source: "cache" });
  const all = [missing, ...files].map(path => new Request(path, { credentials: "omit" }));
  event.waitUntil(caches.open(version).then(cache => cache.addAll(all)).then(() => self.skipWaiting()));
});
addEventListener("activate", event => event.waitUntil(self.clients.claim()));
addEventListener("message", event => {
  keeping = keeping.then(() => keep(event.data)).catch(() => {});
  event.waitUntil(keeping);
});
addEventListener("sync", event => event.waitUntil(self.send())); // there is signal; no page need be open
addEventListener("fetch", event => {
  const { request } = event;
  const url = new URL(request.url); // one of ours: the pages may ask for no others
  const { pathname } = url;
  if (request.method !== "GET") return pathname === "/logout/" && event.waitUntil(wipe());
  if (request.mode === "navigate") event.respondWith(open(event, url));
  else if (pathname === "/health/") event.respondWith(ask(request));
  else if (files.includes(pathname)) event.respondWith(caches.match(pathname).then(file => file ?? fetch(request)));
});
