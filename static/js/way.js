// The three pictures of the way: who has understood them sees them no more in this browser.
const way = document.querySelector("[data-way]");

function kept(name) {
  try {
    return localStorage.getItem(name);
  } catch {
    return null; // no storage in a private window: they are shown until a reed was sent
  }
}

if (way) {
  const name = `way:${way.dataset.way}`;
  const over = way.querySelector("[data-way-over]");
  way.hidden = kept(name) === "over";
  over.hidden = false;
  over.addEventListener("click", () => {
    try {
      localStorage.setItem(name, "over");
    } catch {
      // it is shown again the next time
    }
    way.hidden = true;
    document.getElementById("main").focus();
  });
}
