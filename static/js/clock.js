// Minutes and seconds to a tenth, in the way the page writes numbers: 1:02.3, in German 1:02,3.
const SECONDS = { minimumIntegerDigits: 2, minimumFractionDigits: 1, maximumFractionDigits: 1 };

export function clock(seconds) {
  const tenths = Math.round(seconds * 10);
  const rest = ((tenths % 600) / 10).toLocaleString(document.documentElement.lang, SECONDS);
  return `${Math.floor(tenths / 600)}:${rest}`;
}
