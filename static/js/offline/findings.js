// What the measuring sheet says of the numbers of a draft while there is no line: the plain limits, checked here.
import { checked } from "../limits.js";

const TONES = { fault: "finding-look", look: "finding-look", open: "finding-open", calm: "finding-calm" };

function beside(key, found) {
  const line = document.getElementById(`said-${key}`);
  if (!line) return;
  line.textContent = found?.question ?? found?.brief ?? "";
  const tone = found?.question ? "error" : found?.tone;
  line.className = tone ? `said said-${tone}` : "said";
}

function sentences(form, told) {
  const all = [];
  for (const key of Object.keys(told.quantities)) {
    const field = form.elements.namedItem(key);
    if (!field) continue;
    const method = form.elements.namedItem(`${key}-method`)?.value ?? "";
    const found = checked(field.value, key, method, told, document.documentElement.lang);
    beside(key, found);
    const words = found?.sentence ?? found?.remark;
    if (words) all.push({ words, tone: found.tone ?? "calm" });
  }
  return all;
}

function show(form, told) {
  const place = document.getElementById("checked");
  const fresh = document.getElementById("checked-here").content.cloneNode(true);
  const list = fresh.querySelector("[data-list]");
  for (const { words, tone } of sentences(form, told)) {
    const item = document.createElement("div");
    item.className = `finding ${TONES[tone]}`;
    item.append(Object.assign(document.createElement("p"), { textContent: words }));
    list.append(item);
  }
  place.replaceChildren(...(list.childElementCount ? [fresh] : []));
}

// From now on, until the server has answered again.
export async function begin(form) {
  const answer = await fetch(form.dataset.limits).catch(() => null);
  if (!answer?.ok || answer.redirected) return () => {};
  const told = await answer.json();
  const again = () => show(form, told);
  form.addEventListener("input", again);
  again();
  return () => form.removeEventListener("input", again);
}
