// The files of the site's look, kept under the name of their version.
const SHELL = "files ";

const open = ({ version }) => caches.open(SHELL + version);

// What cannot be had now is kept when a page asks for it; one lost file is no reason to have none.
export async function keepFiles(told) {
  const cache = await open(told);
  const wanted = [told.offline, ...told.files];
  await Promise.allSettled(wanted.map(async (address) => {
    if (await cache.match(address)) return;
    const answer = await fetch(address, { credentials: "omit", priority: "low" });
    if (answer.ok) await cache.put(address, answer);
  }));
}

export async function dropOlder(told) {
  const old = (await caches.keys()).filter((name) => name.startsWith(SHELL) && name !== SHELL + told.version);
  await Promise.all(old.map((name) => caches.delete(name)));
}

// pages kept before a new version came name the files of theirs, so that all versions are looked through
export async function foundFile(told, address) {
  return (await (await open(told)).match(address, { ignoreVary: true })) || caches.match(address, { ignoreVary: true });
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
