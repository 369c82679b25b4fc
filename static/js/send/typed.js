// What was typed and the server has not yet said it has: kept in this browser, field by field.
import { uuid } from "./uuid.js";

export function typedHere(name) {
  const at = `draft:${name}`;
  let memory = { phone: uuid(), number: 0, fields: {} };
  const read = () => {
    try {
      return JSON.parse(localStorage.getItem(at)) || memory;
    } catch {
      return memory; // no storage in a private window: the page itself still holds it
    }
  };
  const write = (kept) => {
    memory = kept;
    try {
      localStorage.setItem(at, JSON.stringify(kept));
    } catch { /* as above */ }
  };
  return {
    fields: () => read().fields,
    put(field, value) {
      const kept = read();
      kept.fields[field] = value;
      write(kept);
    },
    // saves of one browser are counted over all its pages, so that an older one never wins
    nextSave() {
      const kept = read();
      kept.number += 1;
      write(kept);
      return { phone: kept.phone, number: kept.number };
    },
    acknowledged(sent) {
      const kept = read();
      for (const [field, value] of Object.entries(sent)) if (kept.fields[field] === value) delete kept.fields[field];
      write(kept);
    },
    clear() {
      write({ ...read(), fields: {} });
    },
  };
}
