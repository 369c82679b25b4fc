// One request that may take long, with a watch over it: where nothing moves it is given up, to be tried again.
const STILL_MS = 20000; // without a byte while it goes up
const ANSWER_MS = 60000; // all is up: the server may be busy
const SLOWEST = 4; // bytes a millisecond, where no progress is told

export function isElsewhere(address, asked) {
  // one who is signed out is led to the page for signing in, and that answers with 200
  const from = globalThis.location.href;
  return new URL(address, from).pathname !== new URL(asked, from).pathname;
}

const LOST = { status: 0, text: "" };

// Ends in {status, text}; status 0 is a lost connection, `stalled` one on which nothing moved. `up`: all bytes were sent
export function post(address, { token = "", body, onProgress = () => {}, signal = null }) {
  // without a token it goes to somebody else, who is to learn nothing
  const headers = token ? { "X-CSRFToken": token, "HX-Request": "true" } : {};
  const send = globalThis.XMLHttpRequest ? byRequest : byFetch; // a service worker has no requests that tell
  return send(address, { headers, body, onProgress, signal });
}

function byRequest(address, { headers, body, onProgress, signal }) {
  return new Promise((resolve) => {
    const xhr = new XMLHttpRequest();
    let [up, stalled, timer] = [false, false, 0];
    const watch = () => {
      clearTimeout(timer);
      timer = setTimeout(() => { stalled = true; xhr.abort(); }, up ? ANSWER_MS : STILL_MS);
    };
    const done = (answer) => { clearTimeout(timer); resolve(answer); };
    xhr.open("POST", address);
    for (const [name, value] of Object.entries(headers)) xhr.setRequestHeader(name, value);
    xhr.upload.onprogress = (event) => {
      watch();
      if (event.lengthComputable) onProgress((100 * event.loaded) / event.total);
    };
    xhr.upload.onload = () => { up = true; watch(); };
    xhr.onprogress = watch;
    xhr.onload = () => {
      done({ status: isElsewhere(xhr.responseURL, address) ? 403 : xhr.status, text: xhr.responseText });
    };
    xhr.onerror = xhr.onabort = () => done({ ...LOST, up, stalled });
    signal?.addEventListener("abort", () => xhr.abort());
    watch();
    xhr.send(body);
  });
}

function sizeOf(body) {
  return [...body.values()].reduce((sum, one) => sum + (one.size ?? one.length), 0);
}

async function byFetch(address, { headers, body, signal }) {
  const longest = AbortSignal.timeout(ANSWER_MS + sizeOf(body) / SLOWEST);
  try {
    const answer = await fetch(address, {
      method: "POST", headers, body, signal: signal ? AbortSignal.any([longest, signal]) : longest,
    });
    return { status: isElsewhere(answer.url, address) ? 403 : answer.status, text: await answer.text() };
  } catch {
    return { ...LOST, up: true, stalled: longest.aborted };
  }
}
