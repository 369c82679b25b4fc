// The points of a photo, in pixels of the upright picture: which there are, where they stand, which is chosen.
export class Points extends EventTarget {
  constructor(data, buttons) {
    super();
    this.size = [data.width, data.height];
    this.all = new Map();
    this.buttons = new Map();
    for (const button of buttons) this.buttons.set(button.dataset.point, button);
    for (const [key, { name, at }] of Object.entries(data.points)) {
      this.all.set(key, { key, name, at, moved: false, shown: !this.buttons.get(key)?.hidden });
    }
    for (const [key, button] of this.buttons) {
      button.addEventListener("click", () => this.choose(key, true));
      this.say(key);
    }
    this.chosen = null;
  }

  get shown() {
    return [...this.all.values()].filter((point) => point.shown && point.at);
  }

  at(key) {
    return this.all.get(key)?.at ?? null;
  }

  // a point that is chosen and not there yet is put where it probably is
  choose(key, place = false) {
    this.chosen = key;
    for (const [name, button] of this.buttons) button.setAttribute("aria-pressed", String(name === key));
    if (place && key && !this.at(key)) this.dispatchEvent(new CustomEvent("wanted", { detail: key }));
    this.dispatchEvent(new Event("chosen"));
  }

  put(key, [x, y], done = true) {
    const within = (number, most) => Math.min(most, Math.max(0, number));
    const point = this.all.get(key);
    point.at = [within(x, this.size[0]), within(y, this.size[1])];
    point.moved = true;
    this.say(key);
    this.dispatchEvent(new CustomEvent("moved", { detail: { key, done } }));
  }

  nudge(key, dx, dy) {
    const at = this.at(key);
    if (at) this.put(key, [at[0] + dx, at[1] + dy]);
  }

  settle(key) {
    this.dispatchEvent(new CustomEvent("moved", { detail: { key, done: true } }));
  }

  takeAway(key) {
    const point = this.all.get(key);
    if (!point?.at) return;
    Object.assign(point, { at: null, moved: true });
    this.say(key);
    this.dispatchEvent(new CustomEvent("moved", { detail: { key, done: true } }));
  }

  // every point that a person set or took away, in sight or not
  get everything() {
    return Object.fromEntries([...this.all.values()].filter(({ moved }) => moved).map(({ key, at }) => [key, at]));
  }

  restore(places) {
    for (const [key, at] of Object.entries(places)) {
      if (!this.all.has(key)) continue;
      Object.assign(this.all.get(key), { at, moved: true });
      this.say(key);
    }
    this.dispatchEvent(new Event("chosen"));
  }

  show(keys, shown) {
    for (const key of keys) {
      this.all.get(key).shown = shown;
      this.buttons.get(key).hidden = !shown;
    }
    this.dispatchEvent(new Event("chosen"));
  }

  say(key) {
    const [point, state] = [this.all.get(key), this.buttons.get(key)?.querySelector(".point-state")];
    if (state) state.textContent = point.at ? (point.moved ? state.dataset.set : state.dataset.proposed) : state.dataset.missing;
  }

  toJSON() {
    const round = (number) => Math.round(number * 100) / 100;
    return Object.fromEntries([...this.all.values()].filter(({ shown }) => shown).map(({ key, at }) => [key, at && at.map(round)]));
  }
}
