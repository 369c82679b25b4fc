// Without a line a form is only looked at: its buttons and fields rest, with a sentence. The draft is gone on with, but
// for what in it asks the server at once.
const RESTS = "noLine";
const ASKS = "[formaction], [hx-post]:not(form), [hx-get]:not(form)";
// what is fetched when its fold is opened
const COMES = "details [hx-get][hx-trigger^='toggle']";

const worksOn = (form) => form.matches("#draft, [data-works-offline]");

function fieldsOf(form) {
  const all = [...form.elements].filter(({ type }) => type !== "hidden");
  return worksOn(form) ? all.filter((field) => field.matches(ASKS)) : all;
}

function say(form, sentence) {
  const all = [...form.elements].filter(({ type }) => type !== "hidden");
  const isSeen = all.some((one) => one.checkVisibility?.() ?? true);
  if (isSeen && !worksOn(form)) form.append(sentence.cloneNode(true));
}

export function rest(sentence) {
  for (const fold of document.querySelectorAll(COMES)) fold.after(sentence.cloneNode(true));
  for (const form of document.forms) {
    const fields = fieldsOf(form).filter((field) => !field.disabled);
    for (const field of fields) {
      field.disabled = true;
      field.dataset[RESTS] = "";
    }
    if (fields.length) say(form, sentence);
  }
}

export function wake() {
  document.querySelectorAll("[data-no-line]:disabled").forEach((field) => {
    field.disabled = false;
    delete field.dataset[RESTS];
  });
  document.querySelectorAll(".no-line-said").forEach((said) => said.remove());
}
