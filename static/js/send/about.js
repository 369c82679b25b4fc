// Of which round a page is, and where what belongs to it goes: enough for any other page to send it.
export function aboutOf(form) {
  return {
    draft: form.dataset.draft,
    reed: form.dataset.reed,
    round: form.elements.namedItem("key").value,
    page: location.pathname,
    save: form.getAttribute("hx-post"),
    go: form.getAttribute("action"),
    direct: "direct" in form.dataset, // whether a file may be put where it is kept, past the server
  };
}

export const tokenOf = (form) => form.elements.namedItem("csrfmiddlewaretoken").value;
