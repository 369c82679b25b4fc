// The page of one take as a teacher's desk: its passages are kept as they are marked.
import { MarkStore } from "../store.js";
import { Passages } from "./passages.js";

const section = document.querySelector("[data-marking]");
const read = (id) => JSON.parse(document.getElementById(id).textContent);
const said = read("said-data");
const { put, drop } = section.dataset;
const token = section.querySelector("[name=csrfmiddlewaretoken]").value;
new Passages(section, new MarkStore(read("marks-data"), { put, drop, token, stale: said.marks_stale }), said);
