// The page for no line: names the pages that are kept on this phone, the desk first, each with the time it is of.
import { AT, kept } from "./whose.js";
import { said } from "./moment.js";

const section = document.querySelector("[data-kept]");

async function pagesOf(cache) {
  const pages = [];
  for (const request of await cache.keys()) {
    const answer = await cache.match(request, { ignoreVary: true });
    if (!answer.headers.get("Content-Type")?.startsWith("text/html")) continue;
    const { title } = new DOMParser().parseFromString(await answer.text(), "text/html");
    pages.push({ address: request.url, title: title.split("·")[0].trim().replace(/^\(\d+\)\s*/, ""), at: answer.headers.get(AT) });
  }
  return pages;
}

function show({ address, title, at }) {
  const item = section.querySelector("template").content.firstElementChild.cloneNode(true);
  item.querySelector("a").href = address;
  item.querySelector("[data-title]").textContent = title;
  said(item.querySelector("time"), at);
  section.querySelector("[data-list]").append(item);
}

async function list() {
  const cache = "caches" in window && (await kept());
  const pages = cache ? await pagesOf(cache) : [];
  pages.forEach(show);
  section.hidden = !pages.length;
  document.querySelector("[data-nothing]").hidden = Boolean(pages.length);
}

document.querySelector("[data-again]").href = location.href;
list();
