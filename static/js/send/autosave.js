// Keeps what is typed: at once in this browser, a moment later on the server; the checks come back with it.
import { say } from "./kept.js";
import { retry } from "./retry.js";
import { typedHere } from "./typed.js";
import { isElsewhere } from "./upload.js";

const NOT_TYPED = new Set(["csrfmiddlewaretoken", "key", "photo", "to_stage"]);
const MOMENT = 500;
// a round sent meanwhile is an answer to show, not an error
htmx.config.responseHandling.unshift({ code: "409", swap: true, error: false });

function isTyped(field) {
  return field.name && !NOT_TYPED.has(field.name) && !field.name.startsWith("view-") && field.type !== "file";
}

function putBack(form, fields) {
  for (const [name, value] of Object.entries(fields)) {
    const field = form.elements.namedItem(name);
    if (field) field.value = value; // one field, or the radios of one name
  }
}

// typed before this script was there
function changedAlready(form) {
  return [...form.elements].filter((field) => isTyped(field) && (field.type === "radio"
    ? field.checked && !field.defaultChecked
    : "defaultValue" in field && field.value !== field.defaultValue));
}

export function autosave(form) {
  const here = typedHere(form.dataset.draft);
  const again = retry(() => keep());
  let timer = 0;
  let stopped = false;
  let leaving = false;
  let held = false;
  let onItsWay = Promise.resolve();
  let landed = () => {};

  function keep() {
    clearTimeout(timer);
    timer = 0;
    if (!stopped && !held && Object.keys(here.fields()).length) htmx.trigger(form, "keep");
  }

  form.addEventListener("input", (event) => {
    if (!isTyped(event.target)) return;
    say("typed", "saving");
    here.put(event.target.name, event.target.value);
    clearTimeout(timer);
    timer = setTimeout(keep, MOMENT);
  });

  form.addEventListener("htmx:configRequest", (event) => {
    if (event.target !== form) return;
    if (held) { event.preventDefault(); return; } // one that stood in htmx's queue
    onItsWay = new Promise((resolve) => { landed = resolve; });
    // a button that was tapped last, and is gone since, must not lend its address
    event.detail.path = form.getAttribute("hx-post");
    const sent = here.fields();
    const { parameters } = event.detail;
    for (const name of [...new FormData(form).keys()]) if (name !== "key") delete parameters[name];
    Object.assign(parameters, sent, here.nextSave());
    say("typed", "saving");
  });

  const isAstray = (xhr) => xhr.status === 200 && isElsewhere(xhr, form.getAttribute("hx-post"));

  form.addEventListener("htmx:beforeSwap", (event) => {
    const { requestConfig, xhr } = event.detail;
    if (requestConfig.elt === form && isAstray(xhr)) event.detail.shouldSwap = false;
  });

  form.addEventListener("htmx:afterRequest", (event) => {
    const { requestConfig, xhr } = event.detail;
    if (requestConfig.elt !== form) return;
    landed();
    const astray = isAstray(xhr);
    if (xhr.status === 200 && !astray) {
      const sent = Object.fromEntries(requestConfig.formData.entries());
      if (!leaving) here.acknowledged(sent);
      again.worked();
      if (Object.keys(here.fields()).length) { if (!timer) timer = setTimeout(keep, MOMENT); } else say("typed", "server");
    } else if (xhr.status === 409 || xhr.status === 410 || xhr.status === 404) {
      stopped = xhr.status !== 409;
      say("typed", stopped ? "gone" : "elsewhere");
    } else {
      say("typed", astray || xhr.status === 403 ? "signed-out" : "phone");
      again.later();
    }
  });

  // the next page may have been rendered before this save arrived: it must find the words here
  addEventListener("beforeunload", () => { leaving = true; setTimeout(() => { leaving = false; }, 3000); });
  addEventListener("pageshow", (event) => { if (event.persisted) keep(); });
  changedAlready(form).forEach((field) => here.put(field.name, field.value));
  putBack(form, here.fields());
  if (Object.keys(here.fields()).length) say("typed", "saving");
  else if (form.hasAttribute("data-kept")) say("typed", "server");
  // htmx listens to the form from this event on, not before
  if (document.readyState === "complete") keep();
  else document.addEventListener("DOMContentLoaded", () => setTimeout(keep));
  return {
    clear: here.clear,
    // the round is sent with all that is typed: a save that comes after it would be told that it is too late
    hold() { held = true; return onItsWay; },
    release() { held = false; keep(); },
  };
}
