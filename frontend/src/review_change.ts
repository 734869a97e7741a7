// Before and after of a correction, in words and marks.
import type { Change, MeasureChange } from "./review_data";

const MARKS: Record<string, string> = { within: "\u2713", beyond: "\u2715", "too close to call": "\u2248", "not measured": "\u2013" };

function cell(words: string, name = "td"): HTMLElement {
  const made = document.createElement(name);
  made.textContent = words;
  return made;
}

function row(item: MeasureChange): HTMLElement {
  const made = document.createElement("tr");
  const head = cell(item.words, "th");
  head.setAttribute("scope", "row");
  const verdict = item.is_verdict_changed
    ? `${MARKS[item.verdict_before] ?? ""} ${item.verdict_before} \u2192 ${MARKS[item.verdict_after] ?? ""} ${item.verdict_after}`
    : item.verdict_after === "not measured" && item.after.value !== undefined ? "no limits to judge it by"
    : `${MARKS[item.verdict_after] ?? ""} ${item.verdict_after}, as before`;
  made.append(head, cell(item.words_before), cell(item.words_after), cell(verdict));
  if (item.is_verdict_changed) made.className = "turned";
  return made;
}

/** Put before and after into a part of the page. */
export function showChange(home: HTMLElement, words: string, change: Change): void {
  const head = document.createElement("h2");
  head.textContent = `Before and after: ${words}`;
  const state = document.createElement("p");
  state.id = "answer-kind";
  state.className = change.is_first ? "warning" : "done";
  state.textContent = change.is_first
    ? `First answer, from ${change.draws} draws for each source of uncertainty; the full one is being worked out.`
    : `Full answer, from ${change.draws} draws for each source of uncertainty; against the screening without corrections.`;
  const turned = change.measures.filter((item) => item.is_verdict_changed).length;
  const sum = cell(
    `${turned} ${turned === 1 ? "verdict" : "verdicts"} changed, ${change.measures.length - turned} more measures moved, ${change.unchanged} stayed.`, "p");
  const most = 10, rest = change.measures.slice(most);
  home.replaceChildren(head, state, sum, makeTable(change.measures.slice(0, most), "Measures before and after, table"));
  if (rest.length) {
    const more = document.createElement("details"), title = cell(`${rest.length} more measures that moved`, "summary");
    more.append(title, makeTable(rest, "More measures before and after, table"));
    home.append(more);
  }
  home.hidden = false;
}

function makeTable(measures: MeasureChange[], label: string): HTMLElement {
  const scroll = document.createElement("div");
  scroll.className = "scroll"; scroll.tabIndex = 0;
  scroll.setAttribute("role", "region"); scroll.setAttribute("aria-label", label);
  const table = document.createElement("table");
  const top = document.createElement("thead"), line = document.createElement("tr"), body = document.createElement("tbody");
  for (const word of ["Measure", "Before", "After", "Verdict"]) line.append(cell(word, "th"));
  top.append(line);
  body.append(...measures.map(row));
  table.append(top, body); scroll.append(table);
  return scroll;
}
