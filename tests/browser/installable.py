"""What a phone asks of a site before it offers to install it: judged by the page itself, in any Chromium.

The one without windows has nothing against installing any page at all, so its word alone shows nothing.
"""

from __future__ import annotations

# Of a maskable icon a platform cuts a circle of 0.8 of the side (W3C, Web Application Manifest, 'Icon masks
# and safe zone'): there is ground everywhere, and what is drawn on it lies within that circle.
LACKS = """async told => {
  const lacks = [], at = document.querySelector("link[rel=manifest]").href, near = 12, safe = 0.4;
  const scope = new URL(told.scope, at).href, start = new URL(told.start_url, at).href;
  if (!told.name || !told.short_name) lacks.push("no name");
  if (told.display !== "standalone") lacks.push(`shown as ${told.display}`);
  if (!start.startsWith(scope) || !location.href.startsWith(scope)) lacks.push("begins outside its scope");
  const drawn = async ({ src, sizes, purpose }) => {
    const answer = await fetch(new URL(src, at));
    if (!answer.ok) return lacks.push(`${src}: ${answer.status}`);
    const image = await createImageBitmap(await answer.blob());
    const { width, height } = image, name = `${src}, ${purpose}`;
    if (sizes !== `${width}x${height}`) lacks.push(`${name}: ${width}x${height}, not ${sizes}`);
    if (purpose !== "maskable") return;
    const pen = new OffscreenCanvas(width, height).getContext("2d");
    pen.drawImage(image, 0, 0);
    const { data } = pen.getImageData(0, 0, width, height);
    let clear = 0, cut = 0, inside = 0;
    for (let place = 0; place < data.length; place += 4) {
      const pixel = place / 4, [x, y] = [pixel % width, Math.floor(pixel / width)];
      const across = x + 0.5 - width / 2, down = y + 0.5 - height / 2;
      const differs = [0, 1, 2].some(part => Math.abs(data[place + part] - data[part]) > near);
      clear += data[place + 3] < 255;
      if (Math.hypot(across, down) > safe * width) cut += differs;
      else inside += differs;
    }
    if (clear) lacks.push(`${name}: no ground under ${clear} px`);
    if (cut) lacks.push(`${name}: ${cut} px outside the circle`);
    if (!inside) lacks.push(`${name}: nothing is drawn`);
  };
  await Promise.all(told.icons.map(drawn));
  for (const size of ["192x192", "512x512"])
    if (!told.icons.some(icon => icon.sizes === size && icon.purpose === "any"))
      lacks.push(`no icon of ${size}`);
  if (!told.icons.some(icon => icon.purpose === "maskable")) lacks.push("no maskable icon");
  return lacks;
}"""
MANIFEST = "async () => (await fetch(document.querySelector('link[rel=manifest]').href)).json()"
# scope and script of the worker that answers for the page
IN_CONTROL = """async () => {
  const theirs = navigator.serviceWorker, { scope } = await theirs.ready;
  if (!theirs.controller) await new Promise(go => theirs.addEventListener("controllerchange", go));
  return [scope, theirs.controller.scriptURL];
}"""


def manifest_of(page) -> dict:
    """Return the manifest that the page names, as it is fetched and parsed there."""
    return page.evaluate(MANIFEST)


def lacking(page, told: dict) -> list[str]:
    """Say what a phone would have against a manifest, with each icon fetched and looked at."""
    return page.evaluate(LACKS, told)
