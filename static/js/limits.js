// A typed number against the sheet's low and high as far as its doubt allows: the plain rule of reeds/checks/limits.py.
// Limits, doubts, sentences and the rule's two figures are the server's, see reeds/reed/on_phone.py.
import { readNumber } from "./typed_number.js";

const density = (x) => Math.exp(-0.5 * x * x) / Math.sqrt(2 * Math.PI);

// what lies above x > 0: Laplace's continued fraction, from its far end
function tail(x) {
  let rest = 0;
  for (let term = 120; term > 0; term -= 1) rest = term / (x + rest);
  return density(x) / (x + rest);
}

// The standard normal distribution below x, to about fifteen digits, in the tails too. Sources: Abramowitz and Stegun,
// Handbook of Mathematical Functions, 26.2.11 (the series about 0) and 26.2.14 (the fraction); from memory.
export function below(x) {
  if (Math.abs(x) > 3) return x < 0 ? tail(-x) : 1 - tail(x);
  let [sum, last, term] = [x, 0, x];
  for (let odd = 3; sum !== last; odd += 2) {
    last = sum;
    term *= (x * x) / odd;
    sum += term;
  }
  return 0.5 + sum * density(x);
}

const chanceBelow = (value, u, limit) => (u === 0 ? Number(value < limit) : below((limit - value) / u));

// value and standard uncertainty, limits (null for none) -> {outcome, probability}
export function judge(value, u, [low, high], { enough, k95 }) {
  const under = low === null ? 0 : chanceBelow(value, u, low);
  const over = high === null ? 0 : chanceBelow(-value, u, -high);
  const within = Math.max(0, 1 - under - over);
  if (under >= enough) return { outcome: "below", probability: under };
  if (over >= enough) return { outcome: "above", probability: over };
  if (within >= enough) return { outcome: "within", probability: within };
  const decides = low === null || high === null || high - low >= 2 * k95 * u;
  return { outcome: decides ? "too_close" : "undecidable", probability: within };
}

// as Python rounds: of two that are as near, the even one
function rounded(value, decimals) {
  const exact = value.toFixed(60);
  const isTie = new RegExp(`\\.\\d{${decimals}}50*$`).test(exact);
  const up = Number(value.toFixed(decimals));
  if (!isTie) return up;
  const step = 10 ** -decimals;
  return Math.round(up / step) % 2 ? Number((up - Math.sign(value) * step).toFixed(decimals)) : up;
}

// as studio/numerals.py has it
const MINUS = "\u2212";

// a nought has no sign
function said(sentence, params, lang) {
  const shown = (value) => (typeof value === "number"
    ? (value + 0).toLocaleString(lang, { maximumFractionDigits: 10, useGrouping: false }).replace("-", MINUS) : String(value));
  const filled = sentence.replace(/%\((\w+)\)s/g, (_, key) => shown(params[key])).replaceAll("%%", "%").replace(/ {2,}/g, " ");
  return filled.charAt(0).toUpperCase() + filled.slice(1);
}

function asked(text, row, found, told, lang) {
  const typed = [...text.trim()].slice(0, 40).join("");
  return { question: said(told.questions[found.why], { ...row, typed, suggestion: found.suggestion }, lang) };
}

// What the phone says of one number: null of an empty field, {question} of one that cannot be right, {remark} where the
// sheet has no limits for it, else {outcome, probability, tone, brief, sentence}
export function checked(text, key, method, told, lang) {
  const row = told.quantities[key];
  if (!row || !text.trim()) return null;
  const found = readNumber(text, row);
  if (found.why) return asked(text, row, found, told, lang);
  if (!row.limit) return { remark: row.remark };
  const [u, label] = row.tools[method] ?? row.tools[row.usual];
  const value = found.value + row.clips[0];
  const { outcome, probability } = judge(value, Math.hypot(u, row.clips[1]), row.limit, told);
  const params = {
    ...row, value: rounded(value, row.decimals), low: row.limit[0], high: row.limit[1],
    method_label: label,
  };
  const words = { brief: row.briefs[outcome], sentence: said(told.sentences[outcome], params, lang) };
  return { outcome, probability, tone: told.tones[outcome], ...words };
}
