// The files that a page needs beside itself, kept under the name of their version: styles, scripts and their imports.
const SHELL = "files ";
const IN_A_PAGE = /(?:src|href)="([^"?#]+)"/g;
const IMPORTED = { js: /(?:from|import)\s*\(?\s*"(\.[^"]+)"/g, css: /@import\s+"([^"]+)"/g };

const open = ({ version }) => caches.open(SHELL + version);

function namedIn(text, pattern, base, told) {
  const all = [...text.matchAll(pattern)].map(([, name]) => new URL(name, base));
  return all.filter((one) => one.origin === location.origin && one.pathname.startsWith(told.static)).map(({ href }) => href);
}

// What cannot be had now is had with the next page that needs it. `seen` is what was looked after already.
async function keepFile(told, address, seen) {
  if (seen.has(address)) return;
  seen.add(address);
  const cache = await open(told);
  let answer = told.hashed && (await cache.match(address));
  if (!answer) {
    answer = await fetch(address, { priority: "low" });
    if (!answer.ok) return;
    await cache.put(address, answer.clone());
  }
  const imported = IMPORTED[address.split(".").at(-1)];
  if (!imported) return;
  for (const one of namedIn(await answer.text(), imported, address, told)) await keepFile(told, one, seen);
}

export async function keepFilesOf(told, page, address, seen = new Set()) {
  for (const one of namedIn(page, IN_A_PAGE, address, told)) await keepFile(told, one, seen);
}

// The page for no line, as nobody sees it.
export async function keepOfflinePage(told, seen) {
  const address = new URL(told.offline, location.href).href;
  const headers = { "Accept-Language": told.language };
  const answer = await fetch(address, { credentials: "omit", headers, priority: "low" });
  if (!answer.ok) return;
  await (await open(told)).put(address, answer.clone());
  await keepFilesOf(told, await answer.text(), address, seen);
}

export async function dropOlder(told) {
  const old = (await caches.keys()).filter((name) => name.startsWith(SHELL) && name !== SHELL + told.version);
  await Promise.all(old.map((name) => caches.delete(name)));
}

// pages kept before a new version came name the files of theirs, so that all versions are looked through
export async function foundFile(told, address) {
  const own = await (await open(told)).match(address, { ignoreVary: true });
  return own || caches.match(address, { ignoreVary: true });
}

// A file whose address says what is in it is asked for once; any other is asked for as long as there is a line.
export async function file(told, request) {
  const there = await foundFile(told, request.url);
  if (there && told.hashed) return there;
  try {
    return await fetch(request);
  } catch (error) {
    if (there) return there;
    throw error;
  }
}
