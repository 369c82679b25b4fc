// Sends one photo or recording and tells how much of it is up.
export function isElsewhere(xhr, address) {
  // one who is signed out is led to the page for signing in, and that answers with 200
  return new URL(xhr.responseURL).pathname !== new URL(address, location.href).pathname;
}

// Ends in {status, text}; status 0 is a lost connection.
export function post(form, address, body, onProgress) {
  return new Promise((resolve) => {
    const xhr = new XMLHttpRequest();
    xhr.open("POST", address);
    xhr.setRequestHeader("X-CSRFToken", form.elements.namedItem("csrfmiddlewaretoken").value);
    xhr.setRequestHeader("HX-Request", "true");
    xhr.upload.onprogress = (event) => { if (event.lengthComputable) onProgress((100 * event.loaded) / event.total); };
    xhr.onload = () => {
      resolve({ status: isElsewhere(xhr, address) ? 403 : xhr.status, text: xhr.responseText });
    };
    xhr.onerror = xhr.onabort = xhr.ontimeout = () => resolve({ status: 0, text: "" });
    xhr.send(body);
  });
}
