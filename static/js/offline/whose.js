// What is kept on this phone of one person's pages: one cache, named for them, and never a second beside it. Used by
// the worker and by pages, one at a time (Web Locks), so that nothing is put where somebody is just clearing.
const KEPT = "kept ";
export const NOBODY = "nobody";
export const AT = "Kept-At";
const LOCK = "kept pages";

const alone = (act) => navigator.locks.request(LOCK, act);
const cachesOfPeople = async () => (await caches.keys()).filter((name) => name.startsWith(KEPT));

// From here on it is this person's phone; what is kept of others goes. Of nobody: all goes.
export function settle(person) {
  return alone(async () => {
    const own = person === NOBODY ? "" : KEPT + person;
    for (const name of await cachesOfPeople()) if (name !== own) await caches.delete(name);
    if (own) await caches.open(own);
  });
}

// the cache there is; of two nobody can say whose phone it is, so there is none
export async function kept() {
  const names = await cachesOfPeople();
  return names.length === 1 ? caches.open(names[0]) : null;
}

// Keeps an answer of this person, if it is still their phone, with the time it is of.
export async function keep(person, address, answer) {
  const headers = new Headers(answer.headers);
  headers.set(AT, new Date().toISOString());
  const copy = new Response(await answer.blob(), { status: answer.status, headers });
  await alone(async () => {
    if (await caches.has(KEPT + person)) await (await caches.open(KEPT + person)).put(address, copy);
  });
}

export async function drop(address) {
  const cache = await kept();
  if (cache) await cache.delete(address, { ignoreVary: true });
}

export async function found(address) {
  const cache = await kept();
  return cache?.match(address, { ignoreVary: true });
}
