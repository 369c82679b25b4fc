// How much is unread, in the page's title, in the bar and on the installed icon; said anew when something is
// read on this page or a notice comes.
const beside = document.querySelector("[data-unread]");

// one icon stands for all studios that somebody is in
function onTheIcon(here) {
  if (!navigator.setAppBadge) return;
  const count = here + Number(document.body.dataset.unreadElsewhere ?? 0);
  (count ? navigator.setAppBadge(count) : navigator.clearAppBadge()).catch(() => {}); // not installed
}

function show(count) {
  const title = document.title.trim().replace(/^\(\d+\)\s*/, "");
  document.title = count ? `(${count}) ${title}` : title;
  beside.hidden = !count;
  beside.firstElementChild.textContent = count;
  onTheIcon(count);
}

if (beside) {
  onTheIcon(beside.hidden ? 0 : Number(beside.firstElementChild.textContent));
  document.body.addEventListener("unread", ({ detail }) => show(detail.count));
  navigator.serviceWorker?.addEventListener("message", ({ data }) => {
    if (data?.unread !== undefined) show(data.unread);
  });
}
