// Asks this browser where it can be told, once a notice on this device is chosen; the form then says it to the server.
const LONGEST = 20000;
const form = document.querySelector("[data-told]");
const key = form.dataset.told;
const can = "serviceWorker" in navigator && "PushManager" in window && "Notification" in window;

class Refused extends Error {}

const soon = (what) => Promise.race([what, new Promise((_go, end) => { setTimeout(() => end(new Refused("failed")), LONGEST); })]);

const textOf = (bytes) => btoa(String.fromCharCode(...new Uint8Array(bytes)))
  .replaceAll("+", "-").replaceAll("/", "_").replaceAll("=", "");

function say(name) {
  for (const one of form.querySelectorAll("[data-said]")) one.hidden = one.dataset.said !== name;
}

// An address that was given to an earlier key of the site is of no use to this one.
async function subscribed() {
  const { pushManager } = await navigator.serviceWorker.ready;
  const before = await pushManager.getSubscription();
  const known = before?.options.applicationServerKey;
  if (known && textOf(known) === key) return before;
  await before?.unsubscribe();
  return pushManager.subscribe({ userVisibleOnly: true, applicationServerKey: key });
}

async function ask() {
  if (!can) throw new Refused("cannot");
  if ((await Notification.requestPermission()) !== "granted") throw new Refused("denied");
  const subscription = await soon(subscribed());
  form.elements.endpoint.value = subscription.endpoint;
  for (const name of ["p256dh", "auth"]) form.elements[name].value = textOf(subscription.getKey(name));
}

form.addEventListener("submit", async (event) => {
  say(null);
  if (form.elements.told_by.value !== "phone") return;
  event.preventDefault();
  const button = form.querySelector("button");
  button.disabled = true;
  try {
    await ask();
    form.submit();
  } catch (error) {
    say(error instanceof Refused ? error.message : "failed");
  } finally {
    button.disabled = false;
  }
});
