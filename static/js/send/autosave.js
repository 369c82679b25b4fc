// Keeps what is typed: at once in this browser, a moment later on the server; the checks come back with it.
import { aboutOf } from "./about.js";
import { say } from "./kept.js";
import { one } from "./outbox.js";
import { retry } from "./retry.js";
import { typedHere } from "./typed.js";
import { isElsewhere } from "./upload.js";

const NOT_TYPED = new Set(["csrfmiddlewaretoken", "key", "photo", "to_stage", "typed_at", "clock"]);
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

// of what the server keeps, when it was typed
const keptAt = () => JSON.parse(document.getElementById("typed-at")?.textContent || "{}");

export function autosave(form) {
  const about = aboutOf(form);
  const here = typedHere(about);
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
    if (!stopped && !held && here.any()) htmx.trigger(form, "keep");
  }

  form.addEventListener("input", (event) => {
    if (!isTyped(event.target)) return;
    say("typed", "saving");
    here.put(event.target.name, event.target.value);
    clearTimeout(timer);
    timer = setTimeout(keep, MOMENT);
  });

  // whatever else posts this form says which of it was typed here: what it only shows takes nothing back
  form.addEventListener("formdata", (event) => {
    for (const [name, value] of Object.entries(here.toldOf())) event.formData.set(name, value);
  });

  form.addEventListener("htmx:configRequest", (event) => {
    if (event.target !== form) return;
    if (held) { event.preventDefault(); return; } // one that stood in htmx's queue
    onItsWay = new Promise((resolve) => { landed = resolve; });
    // a button that was tapped last, and is gone since, must not lend its address
    event.detail.path = about.save;
    const { parameters } = event.detail;
    for (const name of [...new FormData(form).keys()]) if (name !== "key") delete parameters[name];
    Object.assign(parameters, here.toSend());
    say("typed", "saving");
  });

  const isAstray = (xhr) => xhr.status === 200 && isElsewhere(xhr.responseURL, about.save);

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
      if (!leaving) here.acknowledged(JSON.parse(requestConfig.formData.get("typed_at")));
      again.worked();
      if (here.any()) { if (!timer) timer = setTimeout(keep, MOMENT); } else say("typed", "server");
    } else if (xhr.status === 409 || xhr.status === 410 || xhr.status === 404) {
      stopped = xhr.status !== 409;
      say("typed", stopped ? "gone" : "elsewhere");
    } else {
      later(astray || xhr.status === 403);
    }
  });

  async function later(signedOut) {
    again.later();
    const kept = await here.isKept();
    if (signedOut) say("typed", "signed-out");
    else say("typed", kept ? "phone" : "unkept");
  }

  async function begin() {
    changedAlready(form).forEach((field) => here.put(field.name, field.value));
    // what belongs to a round that waits to be sent goes with that one
    const send = await one("sends", about.draft);
    const back = await here.takeUp(keptAt(), send && send.round !== about.round ? send.round : null);
    putBack(form, back);
    if (here.any()) say("typed", "saving");
    else if (form.hasAttribute("data-kept")) say("typed", "server");
    keep();
  }

  // the next page may have been rendered before this save arrived: it must find the words here
  addEventListener("beforeunload", () => { leaving = true; setTimeout(() => { leaving = false; }, 3000); });
  addEventListener("pageshow", (event) => { if (event.persisted) keep(); });
  // htmx listens to the form from this event on, not before
  const ready = new Promise((resolve) => {
    if (document.readyState === "complete") resolve();
    else document.addEventListener("DOMContentLoaded", () => setTimeout(resolve));
  });
  return {
    begun: ready.then(begin),
    toSend: here.toSend,
    acknowledged: here.acknowledged,
    unkept: here.unkept,
    // the round is sent with all that is typed: a save that comes after it would be told that it is too late
    hold() { held = true; return onItsWay; },
    release() { held = false; keep(); },
  };
}
