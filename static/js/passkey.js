// A passkey that was not used, by whatever reason, is told in our words beside its button.
const said = document.querySelector("[data-no-passkey]");
const form = document.querySelector("[data-passkey]");

document.addEventListener("allauth.error", (event) => {
  event.preventDefault();
  said.hidden = false;
});

form.addEventListener("click", () => { said.hidden = true; });
