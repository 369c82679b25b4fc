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
  const answer = await coming.get(address)?.catch(() => null);
  coming.delete(address);
  if (!answer) return;
  held.set(address, { answer, at: Date.now() });
  page.postMessage({ came: address });
}
