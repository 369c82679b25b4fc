// The worker at the site's root: which requests it answers, and what it does as it comes and goes.
import "./push.js";
import { page, thing } from "./answer.js";
import { dropOlder, file, keepOfflinePage } from "./files.js";
import { outdate, tellWhenHere } from "./late.js";
import { kept } from "../offline/whose.js";
import { refresh } from "./refresh.js";
import { deliverUnseen } from "../send/courier.js";

// what pages that are kept show beside themselves: small copies of photos, the limits of a sheet
const THINGS = [/^\/studio\/\d+\/photos\/\d+\/(screen|thumbnail)\/$/, /^\/studio\/\d+\/send\/\d+\/limits\.json$/];

function answer(event, told) {
  const { request } = event;
  const { origin, pathname } = new URL(request.url);
  if (request.method !== "GET") outdate();
  if (request.method !== "GET" || origin !== location.origin) return;
  if (request.mode === "navigate") event.respondWith(page(event, told));
  else if (pathname.startsWith(told.static)) event.respondWith(file(told, request));
  else if (THINGS.some((one) => one.test(pathname))) event.respondWith(thing(event));
}

// without the page for no line it is still of use
async function arrive(told) {
  await keepOfflinePage(told, new Set()).catch(() => {});
  await skipWaiting();
}

// where nobody's pages are kept, nothing names the files of older versions
async function arrived(told) {
  await clients.claim();
  if (!(await kept())) await dropOlder(told);
}

// `told` is what the server says with each version: see studio/views/installed.py
export function begin(told) {
  addEventListener("install", (event) => event.waitUntil(arrive(told)));
  addEventListener("activate", (event) => event.waitUntil(arrived(told)));
  addEventListener("fetch", (event) => answer(event, told));
  // asked for by a page on which something waits: see send/room.js
  addEventListener("sync", (event) => { if (event.tag === "outbox") event.waitUntil(deliverUnseen().finally(outdate)); });
  addEventListener("message", (event) => {
    if (event.data?.keep) event.waitUntil(refresh(event.data.keep, told));
    if (event.data?.late) event.waitUntil(tellWhenHere(event.source, event.data.late));
  });
}
