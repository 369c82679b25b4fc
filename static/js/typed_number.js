// Reads a number as people type it, or asks back: the same as reeds/numbers/entry.py, with the server's sentences.
const NUMBER = /^[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)$/;
const THOUSANDS = /^[+-]?\d{1,3}([.,' ’])\d{3}(?:\1\d{3})*(?:[.,]\d+)?$/;
const STRANGE = /\s*(cm|m|in|inch|inches|zoll|"|''|″|”|thou|mil|mm|mg|kg|g|°|hz|%)\.?$/;
const NEAR_UNITS = { "cm mm": 10 };
const SLIPS = [10, 0.1, 100, 0.01, 1000, 0.001];

const to6 = (value) => Number(value.toFixed(6));
const valueOf = (text) => Number(text.replace(",", "."));

function tidy(text) {
  return text.replaceAll("mm²", "mm2").normalize("NFKC").replace(/[−–]/g, "-").replace(/\s+/g, " ").trim();
}

function withoutUnit(text, units) {
  const known = units.filter(Boolean).map(tidy).sort((one, other) => other.length - one.length);
  const unit = known.find((one) => text.toLowerCase().endsWith(one.toLowerCase()));
  return unit === undefined ? text : text.slice(0, -unit.length).trim();
}

function ofShape(plain) {
  if (!plain) return { why: "empty" };
  if (THOUSANDS.test(plain)) return { why: "thousands" };
  return { why: (plain.match(/\d+(?:[.,]\d+)?/g) ?? []).length > 1 ? "several" : "not_a_number" };
}

function ofUnit(text, { unit, low, high }) {
  const found = STRANGE.exec(text.toLowerCase());
  const body = found ? text.slice(0, found.index).trim() : "";
  if (!found || !NUMBER.test(body)) return null;
  const factor = NEAR_UNITS[`${found[1]} ${unit}`];
  const meant = factor ? to6(valueOf(body) * factor) : null;
  if (meant !== null && low <= meant && meant <= high) return { why: "other_unit_near", suggestion: meant };
  return { why: unit ? "other_unit" : "not_a_number" };
}

function ofSize(value, { unit, low, high }) {
  if (low <= value && value <= high) return null;
  if (value <= 0 && low > 0) return { why: "not_positive" };
  if (value < 0 && low >= 0) return { why: "negative" };
  const slipped = SLIPS.map((factor) => to6(value * factor)).find((one) => low <= one && one <= high && one !== 0);
  if (low > 0 && slipped !== undefined) return { why: "did_you_mean", suggestion: slipped };
  return { why: unit === "mm" ? "out_of_bounds_mm" : "out_of_bounds" };
}

// `quantity` {unit, spellings, low, high} -> {value}, or {why, suggestion} where it is not taken
export function readNumber(text, quantity) {
  const plain = withoutUnit(tidy(text), [quantity.unit, ...quantity.spellings]);
  if (!NUMBER.test(plain)) return ofUnit(tidy(text), quantity) ?? ofShape(plain);
  const value = valueOf(plain);
  return ofSize(value, quantity) ?? { value };
}
