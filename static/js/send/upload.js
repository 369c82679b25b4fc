// Sends one photo and tells how much of it is up. Ends in {status, text}; status 0 is a lost connection.
export function upload(form, photo, onProgress) {
  return new Promise((resolve) => {
    const address = document.getElementById("photos").dataset.upload;
    const body = new FormData();
    body.append("key", form.elements.namedItem("key").value);
    body.append("photo-key", photo.key);
    body.append("photo", photo.blob, photo.name);
    const xhr = new XMLHttpRequest();
    xhr.open("POST", address);
    xhr.setRequestHeader("X-CSRFToken", form.elements.namedItem("csrfmiddlewaretoken").value);
    xhr.setRequestHeader("HX-Request", "true");
    xhr.upload.onprogress = (event) => { if (event.lengthComputable) onProgress((100 * event.loaded) / event.total); };
    xhr.onload = () => {
      const astray = !xhr.responseURL.includes(address);
      resolve({ status: astray ? 403 : xhr.status, text: xhr.responseText });
    };
    xhr.onerror = xhr.onabort = xhr.ontimeout = () => resolve({ status: 0, text: "" });
    xhr.send(body);
  });
}
