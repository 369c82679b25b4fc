// Sends the round once: waits for photos on their way, tries again when the connection is back.
import { say } from "./kept.js";
import { retry } from "./retry.js";

export function sending(form, typed, pictures) {
  const button = document.getElementById("send");
  let wanted = false;
  const again = retry(() => { if (wanted) go(); });

  form.addEventListener("submit", (event) => {
    if (event.submitter?.hasAttribute("data-plain")) return;
    event.preventDefault();
    if (wanted) return; // a double tap
    wanted = true;
    button.setAttribute("aria-disabled", "true");
    go();
  });

  async function go() {
    if (pictures?.pending()) {
      say("sending", "sends-photos");
      await pictures.empty();
    }
    say("sending", "sending");
    await typed.hold();
    const body = new FormData(form);
    body.delete("photo");
    let answer;
    try {
      answer = await fetch(form.action, { method: "POST", body, headers: { "HX-Request": "true" } });
    } catch {
      return later();
    }
    if (answer.redirected) return stop("signed-out");
    if (answer.ok) return arrived(await answer.json());
    if (answer.status === 422) return refused(await answer.text());
    if (answer.status === 410 || answer.status === 404) return stop("gone");
    return later();
  }

  function later() {
    typed.release();
    say("sending", "sends-later");
    again.later();
  }

  function arrived({ to }) {
    typed.clear();
    location.replace(to);
  }

  function stop(state) {
    wanted = false;
    typed.release();
    button.removeAttribute("aria-disabled");
    say("sending", state);
  }

  function refused(html) {
    stop("");
    htmx.swap("#checked", html, { swapStyle: "outerHTML" });
    document.querySelector("#checked [role=alert]")?.scrollIntoView({ block: "center" });
  }
}
