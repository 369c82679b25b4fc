// Photos and recordings that the server has not yet said it has, kept in this browser so that a lost page loses none.
const NAME = "reeds";
const STORE = "photos";

function database() {
  return new Promise((resolve, reject) => {
    const opening = indexedDB.open(NAME, 1);
    opening.onupgradeneeded = () => opening.result.createObjectStore(STORE, { keyPath: "key" });
    opening.onsuccess = () => resolve(opening.result);
    opening.onerror = () => reject(opening.error);
  });
}

async function within(mode, act) {
  const db = await database();
  try {
    return await new Promise((resolve, reject) => {
      const transaction = db.transaction(STORE, mode);
      const request = act(transaction.objectStore(STORE));
      transaction.oncomplete = () => resolve(request.result);
      transaction.onerror = transaction.onabort = () => reject(transaction.error);
    });
  } finally {
    db.close();
  }
}

export async function put(photo) {
  try {
    await within("readwrite", (store) => store.put(photo));
    return true;
  } catch {
    return false; // no room, or a private window
  }
}

export async function remove(key) {
  await within("readwrite", (store) => store.delete(key)).catch(() => {});
}

const all = () => within("readonly", (store) => store.getAll()).catch(() => []);

export async function waiting(draft) {
  return (await all()).filter((photo) => photo.draft === draft).sort((one, other) => one.added - other.added);
}

// what one person left here; a draft's name begins with whose it is
export async function leftBy(person) {
  return (await all()).filter((photo) => photo.draft.startsWith(`${person}/`));
}
