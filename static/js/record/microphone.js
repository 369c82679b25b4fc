// The microphone without the helpers that change what is heard, and what the browser says it granted.
const ASKED = { autoGainControl: false, noiseSuppression: false, echoCancellation: false };

export async function openMicrophone() {
  if (!navigator.mediaDevices?.getUserMedia || !window.MediaRecorder) throw new DOMException("", "NotSupportedError");
  const stream = await navigator.mediaDevices.getUserMedia({ audio: { ...ASKED, channelCount: 1 }, video: false });
  const settings = stream.getAudioTracks()[0].getSettings?.() ?? {};
  const granted = {};
  for (const name of Object.keys(ASKED)) granted[name] = typeof settings[name] === "boolean" ? settings[name] : null;
  return { stream, granted };
}

// why it could not be opened, by the name under which the page holds the words
export function reason(error) {
  return {
    NotAllowedError: "refused", SecurityError: "refused", NotFoundError: "absent", OverconstrainedError: "absent",
    NotReadableError: "busy", AbortError: "busy",
  }[error.name] ?? "unable";
}

// "" where all helpers are off, else whether one is on or nobody knows
export function processed(granted) {
  const said = Object.values(granted);
  if (said.includes(true)) return "on";
  return said.includes(null) ? "unknown" : "";
}
