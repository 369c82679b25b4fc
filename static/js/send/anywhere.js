// On every page of a student: looks whether something waits in this browser; only then what sends it is loaded.
import { leftBy } from "./outbox.js";

const { person } = document.body.dataset;
leftBy(person).then((left) => {
  // without a line it may not be here; then there is nothing to be sent with it either
  if (Object.values(left).some((rows) => rows.length)) import("./waiting.js").catch(() => {});
});
