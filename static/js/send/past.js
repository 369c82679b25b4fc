// A file put where it is kept, past our server: that says where, and is told when it is there. It goes the ordinary way
// where that fails, and after a failure all do: the file stays in this browser until the server has said it has it.
import { formOf } from "./form_of.js";
import { post } from "./upload.js";

const SMALL = 64 * 1024; // not worth three requests
const TYPE = "application/octet-stream";
let failed = false;

// Ends in the server's answer, or null for the ordinary way. `named` are the fields by which the server knows the file.
export async function sendPast(file, named, token, more) {
  if (failed || file.blob.size < SMALL) return null;
  const ask = { ...named, place: file.blob.size, type: file.blob.type || TYPE };
  const place = await post(file.address, { token, body: formOf(ask) });
  if (place.status === 204) return null;
  if (place.status !== 202) return place;
  const { url, fields, ticket } = JSON.parse(place.text);
  const body = formOf(fields);
  body.append("file", file.blob);
  const { status } = await post(url, { ...more, body });
  failed = status < 200 || status > 299;
  if (failed) return more.signal?.aborted ? { status: 0, text: "" } : null;
  const told = { ...named, [`${file.kind}-size`]: file.blob.size, [`${file.kind}-ticket`]: ticket };
  const answer = await post(file.address, { token, body: formOf(told) });
  return answer.status === 400 ? null : answer; // it is not there after all
}
