// A photo that is there before its reed is chosen: kept in this browser under no reed, until a draft takes it over.
import { put, waiting } from "./outbox.js";
import { keepForLong } from "./room.js";
import { uuid } from "./uuid.js";

// what the address of a draft ends with that is to take them over; an address without it leaves them alone
export const WITH_PHOTO = "#with-photo";

// `place`: of several chosen at once, so that they stay in that order
export function keepPhoto(draft, file, place = 0) {
  keepForLong();
  return put({ key: uuid(), draft, name: file.name, blob: file, added: Date.now() + place });
}

export async function takeOver(draft) {
  if (location.hash !== WITH_PHOTO) return;
  const ofNoReed = draft.replace(/[^/]+$/, "new");
  for (const photo of await waiting(ofNoReed)) await put({ ...photo, draft });
  history.replaceState(history.state, "", location.pathname + location.search);
}
