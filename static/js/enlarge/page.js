// A photo that is tapped is enlarged over the page: [data-enlarge] is a link to it, which alone does without script.
// What does so comes with the first tap: a page is there as soon without it.
const dialog = document.getElementById("enlarged");
let enlarged = null;

// those of one round are turned over together, those of another list are not
function beside(link) {
  const among = link.closest("[data-enlarge-together]") ?? document;
  return [...among.querySelectorAll("[data-enlarge]")];
}

async function enlarge(link) {
  try {
    const { Enlarged } = await import("./enlarged.js");
    enlarged ??= new Enlarged(dialog);
  } catch {
    return void location.assign(link.href); // it did not come: the photo alone, as without script
  }
  if (!dialog.open) enlarged.open(beside(link), link);
}

document.addEventListener("click", (event) => {
  const link = event.target.closest?.("[data-enlarge]");
  if (!link || !dialog || event.ctrlKey || event.metaKey || event.shiftKey) return;
  event.preventDefault();
  enlarge(link);
});
