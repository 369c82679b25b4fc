// Hands the page's form to allauth's script; a passkey that was not used, for whatever reason, is told in our words.
const form = document.querySelector("[data-passkey]");
const said = form.querySelector("[data-no-passkey]");
const button = "use-passkey";
const given = (name) => form.querySelector(`[name=${name}]`)?.id;

document.addEventListener("allauth.error", (event) => {
  event.preventDefault();
  said.hidden = false;
});
form.addEventListener("click", () => { said.hidden = true; });

// each of its forms calls the button by another name
window.allauth.webauthn.forms[form.dataset.passkey]({
  ids: {
    login: button,
    authenticate: button,
    add: button,
    credential: given("credential"),
    passwordless: given("passwordless"),
    data: "js_data",
  },
});
