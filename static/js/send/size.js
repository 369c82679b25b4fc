// How large a file is, in the words of the page's language.
export function size(bytes) {
  const [unit, number] = bytes >= 1e6 ? ["megabyte", bytes / 1e6] : ["kilobyte", Math.max(1, bytes / 1e3)];
  const as = { style: "unit", unit, maximumFractionDigits: unit === "megabyte" && number < 10 ? 1 : 0 };
  return new Intl.NumberFormat(document.documentElement.lang, as).format(number);
}
