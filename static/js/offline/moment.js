// Says a moment in a <time>: the hour alone where it is of today.
export function said(element, at) {
  const moment = new Date(at);
  const isToday = moment.toDateString() === new Date().toDateString();
  const hour = { hour: "2-digit", minute: "2-digit", hour12: false };
  const how = isToday ? hour : { day: "numeric", month: "long", ...hour };
  element.dateTime = at;
  element.textContent = new Intl.DateTimeFormat(document.documentElement.lang, how).format(moment);
}
