// What was recorded on this phone, each a form that was sent, until the book has it. No page is needed here.
// An entry: uuid (the form's press), seq, login, at, path, title, fields [[name, value]], files [[name, blob, name]].

const STORE = "entries";
let opening = null;

const done = request =>
  new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });

/** The store; rejected where the browser gives us none. */
export async function store() {
  if (opening) return opening;
  const request = indexedDB.open("roundbook", 1);
  request.onupgradeneeded = () => request.result.createObjectStore(STORE, { keyPath: "uuid" }).createIndex("seq", "seq");
  opening = done(request);
  const anew = () => (opening = null); // a browser may close it
  opening.then(base => (base.onclose = anew), anew);
  return opening;
}

async function change(act) {
  const transaction = (await store()).transaction(STORE, "readwrite", { durability: "strict" });
  act(transaction.objectStore(STORE));
  await new Promise((resolve, reject) => {
    transaction.oncomplete = resolve;
    transaction.onabort = () => reject(transaction.error);
  });
}

/** Put an entry behind all others; it is on the disk when this is over. */
export const keep = entry =>
  change(entries => {
    entries.index("seq").openCursor(null, "prev").onsuccess = ({ target }) =>
      entries.put({ ...entry, seq: (target.result?.key ?? 0) + 1 });
  });

export const drop = uuid => change(entries => entries.delete(uuid));

/** All entries, in the order in which they were recorded. */
export const kept = async () => done((await store()).transaction(STORE).objectStore(STORE).index("seq").getAll());

async function answerOf(path, patience, more) {
  const answer = await fetch(path, { cache: "no-store", signal: AbortSignal.timeout(patience), ...more });
  if (![400, 413].includes(answer.status) && (!answer.ok || answer.redirected)) throw new Error(answer.status);
  return answer.ok && answer.json();
}

function post({ files, ...entry }, state, isLive) {
  const body = new FormData();
  const sent = { ...entry, files: files.map(([name]) => name) };
  body.set("entries", JSON.stringify({ now: Date.now(), entries: [sent] }));
  body.set("live", isLive ? entry.uuid : "");
  files.forEach(([, blob, name], number) => body.set(`${entry.uuid}.${number}`, blob, name));
  const headers = { "X-CSRFToken": state.csrf };
  return answerOf("/phone/entries/", isLive ? 10000 : 60000, { method: "POST", body, headers });
}

/** Send what is here, in order, and drop what the book has; return what it says of the entry `live`. */
async function sendAll(live) {
  const state = await answerOf("/phone/state/", live ? 5000 : 20000);
  let answer = null;
  const staying = [];
  for (const entry of await kept()) {
    if (entry.login !== state.login || staying.some(uuid => entry.path.includes(`~${uuid}`))) continue;
    const said = await post(entry, state, entry.uuid === live);
    // 413 or 400: it can never arrive. Or somebody else logged in just now. It stays here, with what belongs to it.
    if (!said || said.entries[0].state === "other login") {
      staying.push(entry.uuid);
      continue;
    }
    if (entry.uuid === live) [answer] = said.entries;
    state.to_settle = said.to_settle;
    await drop(entry.uuid);
  }
  return { ...state, answer };
}

/** One tab sends at a time; the server takes each entry once, whoever sends it. */
export const send = live => navigator.locks.request(STORE, () => sendAll(live));
