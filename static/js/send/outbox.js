// What the server has not yet said it has, kept in this browser so that a lost page loses nothing: files on their way,
// what was typed, a Send that was tapped. It knows no page, so that a service worker may use it too.
const NAME = "reeds";
const VERSION = 2;
const STORES = { photos: "key", typed: ["draft", "name"], sends: "draft" }; // recordings stand among the photos
let opened = null;

function database() {
  opened ??= new Promise((resolve, reject) => {
    const opening = indexedDB.open(NAME, VERSION);
    opening.onupgradeneeded = () => {
      const there = opening.result.objectStoreNames;
      for (const [name, keyPath] of Object.entries(STORES)) {
        if (!there.contains(name)) opening.result.createObjectStore(name, { keyPath });
      }
    };
    opening.onsuccess = () => {
      const db = opening.result;
      db.onversionchange = () => { db.close(); opened = null; }; // a newer page needs it changed
      db.onclose = () => { opened = null; };
      resolve(db);
    };
    opening.onerror = () => { opened = null; reject(opening.error); };
  });
  return opened;
}

async function within(store, mode, act) {
  const db = await database();
  return new Promise((resolve, reject) => {
    // on the disk before it is said to be kept
    const transaction = db.transaction(store, mode, { durability: store === "typed" ? "relaxed" : "strict" });
    let result;
    act(transaction.objectStore(store), (found) => { result = found; });
    transaction.oncomplete = () => resolve(result);
    transaction.onerror = transaction.onabort = () => reject(transaction.error);
  });
}

// WebKit keeps no files in a private window, only the bytes in them; nothing says so but a try
const isFile = (value) => value instanceof Blob;
const mapped = (row, changed) => Promise.all(
  Object.entries(row).map(async ([name, value]) => [name, await changed(value)]),
).then(Object.fromEntries);
const asBytes = (row) => mapped(row, async (value) => (
  isFile(value) ? { bytes: await value.arrayBuffer(), type: value.type } : value));
const asFiles = (row) => row && mapped(row, (value) => (
  value?.bytes instanceof ArrayBuffer ? new Blob([value.bytes], { type: value.type }) : value));

const written = (store, row) => within(store, "readwrite", (rows) => { rows.put(row); }).then(() => true, () => false);

// Whether it is kept: not where there is no room, or where a private window keeps nothing.
export async function keep(store, row) {
  if (await written(store, row)) return true;
  return Object.values(row).some(isFile) && written(store, await asBytes(row));
}

export async function drop(store, key) {
  await within(store, "readwrite", (rows) => { rows.delete(key); }).catch(() => {});
}

// Drops a row unless it was changed since: `isSame` is asked of the one that is there.
export async function dropIf(store, key, isSame) {
  await within(store, "readwrite", (rows) => {
    const found = rows.get(key);
    found.onsuccess = () => { if (found.result && isSame(found.result)) rows.delete(key); };
  }).catch(() => {});
}

export async function all(store) {
  return within(store, "readonly", (rows, give) => {
    const found = rows.getAll();
    found.onsuccess = () => give(found.result);
  }).then((found) => Promise.all(found.map(asFiles))).catch(() => []);
}

export const one = async (store, key) => within(store, "readonly", (rows, give) => {
  const found = rows.get(key);
  found.onsuccess = () => give(found.result);
}).then(asFiles).catch(() => undefined);

export const put = (file) => keep("photos", file);
export const remove = (key) => drop("photos", key);

// files of one draft, oldest first; what follows on a better line is not among them
export async function waiting(draft) {
  const files = (await all("photos")).filter((file) => file.draft === draft && !file.better);
  return files.sort((first, other) => first.added - other.added);
}

// what one person left here, by store; a draft's name begins with whose it is
export async function leftBy(person) {
  const own = (row) => row.draft.startsWith(`${person}/`);
  const [files, typed, sends] = await Promise.all(Object.keys(STORES).map(all));
  return { files: files.filter(own), typed: typed.filter(own), sends: sends.filter(own) };
}

export async function forgetAllOf(person) {
  const { files, typed, sends } = await leftBy(person);
  await Promise.all([
    ...files.map(({ key }) => drop("photos", key)),
    ...typed.map(({ draft, name }) => drop("typed", [draft, name])),
    ...sends.map(({ draft }) => drop("sends", draft)),
  ]);
}
