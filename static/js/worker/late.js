// A page that came after its copy had been shown: held until it is asked for once more, instead of asking the slow line.
const HELD_MS = 60 * 1000;
const coming = new Map();
const held = new Map();

const plain = (address) => address.split("#")[0];

export function comes(address, network) {
  coming.set(plain(address), network);
}

// What was held for this address, once.
export function heldFor(address) {
  const one = held.get(plain(address));
  held.delete(plain(address));
  return one && Date.now() - one.at < HELD_MS ? one.answer : null;
}

// Tells the page that shows the copy; where the line is lost nothing comes, and it stays a copy.
export async function tellWhenHere(page, address) {
  const network = coming.get(address);
  const answer = await network?.catch(() => null);
  if (!answer) return;
  if (coming.get(address) === network) held.set(address, { answer, at: Date.now() });
  coming.delete(address);
  page.postMessage({ came: address });
}

// What was asked before something was sent knows nothing of it.
export function outdate() {
  coming.clear();
  held.clear();
}
