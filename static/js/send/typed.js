// What was typed and the server has not yet said it has: kept in this browser, field by field, with when it was typed.
import { all, dropIf, keep } from "./outbox.js";

// what a page of an older version kept elsewhere in this browser, once
function ofOlderPage(draft) {
  try {
    const { fields } = JSON.parse(localStorage.getItem(`draft:${draft}`)) ?? { fields: {} };
    localStorage.removeItem(`draft:${draft}`);
    return fields;
  } catch {
    return {};
  }
}

// `about` says of which draft, and where it goes: `draft`, `round`, `reed`, `page`, `save`
export function typedHere(about) {
  const fields = new Map(); // what the server has not said it has
  const times = {}; // all that was typed on this page
  let latest = 0;
  let written = Promise.resolve(true);
  let isWritten = true;

  const row = (name, { value, at }) => ({ ...about, name, value, at });

  function put(name, value) {
    latest = Math.max(Date.now(), latest + 1);
    fields.set(name, { value, at: latest });
    times[name] = latest;
    const kept = keep("typed", row(name, fields.get(name)));
    written = Promise.all([written, kept]).then((both) => { isWritten = both.every(Boolean); return isWritten; });
  }

  // what an earlier page left, unless it was typed anew here or, by `keptAt`, later elsewhere, or belongs to `another` round
  async function takeUp(keptAt, another) {
    const left = (await all("typed")).filter((one) => one.draft === about.draft && one.round !== another);
    const back = ofOlderPage(about.draft);
    for (const [name, value] of Object.entries(back)) if (!fields.has(name)) put(name, value);
    for (const { name, value, at } of left) {
      if (at < (keptAt[name] ?? 0)) dropIf("typed", [about.draft, name], (now) => now.at === at);
      else if (!fields.has(name)) {
        fields.set(name, { value, at });
        back[name] = value;
        times[name] = at;
      }
    }
    return back;
  }

  // of those sent, what was not typed again since
  function acknowledged(sent) {
    return Promise.all(Object.entries(sent).map(([name, at]) => {
      if (fields.get(name)?.at === at) fields.delete(name);
      return dropIf("typed", [about.draft, name], (now) => now.at <= at);
    }));
  }

  const told = (some) => ({ typed_at: JSON.stringify(some), clock: String(Date.now()) });
  return {
    put,
    takeUp,
    acknowledged,
    any: () => fields.size > 0,
    isKept: () => written,
    unkept: () => fields.size > 0 && !isWritten,
    // what goes to the server, with when each was typed, and when it is now by this clock
    toSend() {
      const here = [...fields];
      const values = Object.fromEntries(here.map(([name, { value }]) => [name, value]));
      return { ...values, ...told(Object.fromEntries(here.map(([name, { at }]) => [name, at]))) };
    },
    toldOf: () => told(times),
  };
}
