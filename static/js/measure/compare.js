// Two flat photos: beside one another, or the second over the first, drawn aside or seen through by a slider.
const section = document.querySelector("[data-compare]");
const second = section?.querySelector("[data-second]");

if (second) {
  const how = section.querySelector(".compare-how");
  const slider = section.querySelector(".compare-slider");
  const share = section.querySelector("#share");
  how.hidden = false;

  const lay = () => {
    const chosen = how.querySelector("[name=how]:checked").value;
    const part = Number(share.value);
    section.classList.toggle("compare-over", chosen !== "beside");
    section.classList.toggle("compare-large", how.querySelector("[name=large]").checked);
    slider.hidden = chosen === "beside";
    second.style.clipPath = chosen === "wipe" ? `inset(0 ${100 - part}% 0 0)` : "";
    second.style.opacity = chosen === "fade" ? String(part / 100) : "";
  };
  section.addEventListener("input", lay);
  section.addEventListener("change", lay);
  lay();
}
