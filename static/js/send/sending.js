// Sends the round once: a tap is remembered in this browser, waits for photos on their way, and is tried again until the
// server has it, from this page or from any other.
import { aboutOf, tokenOf } from "./about.js";
import { sendRound } from "./courier.js";
import { say } from "./kept.js";
import { drop, keep, one } from "./outbox.js";
import { retry } from "./retry.js";
import { keepForLong } from "./room.js";

export function sending(form, typed, pictures) {
  const button = document.getElementById("send");
  const waits = document.getElementById("send-waits");
  const about = aboutOf(form);
  let wanted = false;
  let going = false;
  let kept = true;
  const again = retry(() => go());

  form.addEventListener("submit", async (event) => {
    if (event.submitter?.hasAttribute("data-plain")) return;
    event.preventDefault();
    if (wanted) return; // a double tap
    want();
    kept = await keep("sends", { ...about, at: Date.now() });
    go();
  });

  function want() {
    wanted = true;
    button.setAttribute("aria-disabled", "true");
  }

  async function go() {
    if (!wanted || going) return;
    going = true;
    await tried();
    going = false;
  }

  async function tried() {
    if (pictures.pending()) {
      wait("sends-photos");
      await pictures.empty();
      if (!wanted) return;
    }
    say("sending", "sending");
    await typed.hold();
    const values = typed.toSend();
    const { status, text } = await sendRound(about, values, tokenOf(form));
    if (status === 200) await arrived(JSON.parse(text), values);
    else if (status === 422) await refused(text);
    else if (status === 403) stop("signed-out");
    else if (status === 410 || status === 404) await ended("gone");
    else later();
  }

  function wait(state) {
    waits.hidden = false;
    say("sending", kept ? state : "unkept");
  }

  function later() {
    typed.release();
    keepForLong();
    wait("sends-later");
    again.later();
  }

  async function arrived({ to }, values) {
    await Promise.all([typed.acknowledged(JSON.parse(values.typed_at)), drop("sends", about.draft)]);
    location.replace(to);
  }

  // the tap stays remembered where somebody only has to sign in
  function stop(state) {
    wanted = false;
    waits.hidden = true;
    typed.release();
    button.removeAttribute("aria-disabled");
    say("sending", state);
  }

  async function ended(state) {
    await drop("sends", about.draft);
    stop(state);
  }

  async function refused(html) {
    await ended("");
    htmx.swap("#checked", html, { swapStyle: "outerHTML" });
    document.querySelector("#checked [role=alert]")?.scrollIntoView({ block: "center" });
  }

  waits.querySelector("[data-now]").addEventListener("click", () => { pictures.tryNow(); again.now(); });
  waits.querySelector("[data-not-yet]").addEventListener("click", () => ended(""));

  // tapped on a page that was lost since; what was refused then is seen here now
  async function takeUp() {
    const send = await one("sends", about.draft);
    if (send?.refused) await drop("sends", about.draft);
    else if (send?.round === about.round) { want(); go(); }
  }

  return { takeUp, unkept: () => wanted && !kept };
}
