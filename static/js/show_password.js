// A button beside a new password shows it, so that it need not be typed twice.
for (const field of document.querySelectorAll("[data-password]")) {
  const button = document.createElement("button");
  button.type = "button";
  button.className = "plain";
  button.textContent = field.dataset.show;
  button.setAttribute("aria-pressed", "false");
  button.addEventListener("click", () => {
    const shown = field.type === "text";
    field.type = shown ? "password" : "text";
    button.setAttribute("aria-pressed", String(!shown));
    button.textContent = shown ? field.dataset.show : field.dataset.hide;
  });
  field.after(button);
  field.form.addEventListener("submit", () => { field.type = "password"; });
}
