// A notice that comes: shown with the words the server gave it, counted on the icon, told to pages that are open.
// A tap leads to what it is about.
// A reed that waits is nothing unread yet: the icon then carries a mark without a number.
async function count(unread) {
  if (!navigator.setAppBadge) return;
  await (unread ? navigator.setAppBadge(unread) : navigator.setAppBadge()).catch(() => {}); // not installed
}

// the pages of the studio it comes from; another studio of the same person counts its own
async function tell(unread, path) {
  const pages = await clients.matchAll({ type: "window", includeUncontrolled: true });
  const [studio] = path.match(/^\/studio\/\d+\//) ?? [path];
  for (const page of pages) if (new URL(page.url).pathname.startsWith(studio)) page.postMessage({ unread });
}

async function show({ title, body, path, tag, unread, elsewhere = 0 }) {
  await registration.showNotification(title, { body, tag, renotify: true, data: { path } });
  await count(unread + elsewhere);
  await tell(unread, path);
}

async function open(path) {
  const address = new URL(path, location.origin);
  if (address.origin !== location.origin) return;
  const pages = await clients.matchAll({ type: "window", includeUncontrolled: true });
  const there = pages.find((page) => page.url === address.href);
  await (there ? there.focus() : clients.openWindow(address.href));
}

addEventListener("push", (event) => {
  if (event.data) event.waitUntil(show(event.data.json()));
});

addEventListener("notificationclick", (event) => {
  event.notification.close();
  event.waitUntil(open(event.notification.data.path));
});
