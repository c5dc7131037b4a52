"use strict";
// The index of a folder of sheets. Its rows stand in the page; the free text of the offices comes in files of its own once the page
// is shown, as scripts, since a page that is opened from a disk may read nothing else. Text is only ever put in as text.
const data = JSON.parse(document.getElementById("offices").textContent);
const rows = data.offices.map((row, at) => ({
  at, row, known: [row.name, row.title, row.site, row.file].filter(Boolean).join("\n").toLowerCase(), text: "",
}));
const LEVELS = ["none", "note", "warning", "error"];
const STEP = 200;
const at = (id) => document.getElementById(id);
const [search, stage, level, margin] = ["search", "stage", "level", "margin"].map(at);
let sort = { key: "name", up: true };
let shown = STEP;
let found = rows;

const KEYS = {
  name: (one) => (one.row.title || one.row.name).toLowerCase(),
  site: (one) => (one.row.site || "").toLowerCase(),
  stage: (one) => data.stages.indexOf(one.row.stage),
  level: (one) => one.row.errors * 1e8 + one.row.warnings * 1e4 + one.row.notes,
  margin: (one) => (one.row.margin === null ? Infinity : one.row.margin),
};

function look() {
  const words = search.value.toLowerCase().split(/\s+/).filter(Boolean);
  const least = margin.value === "" ? null : Number(margin.value);
  const wanted = LEVELS.indexOf(level.value);
  found = rows.filter((one) =>
    words.every((word) => one.known.includes(word) || one.text.includes(word))
    && (stage.value === "" || one.row.stage === stage.value)
    && (level.value === "" || LEVELS.indexOf(one.row.level) === wanted)
    && (least === null || (one.row.margin !== null && one.row.margin * data.scale < least)));
  order();
}

function order() {
  const key = KEYS[sort.key];
  const keys = new Map(found.map((one) => [one, key(one)]));
  const compare = (a, b) => (keys.get(a) < keys.get(b) ? -1 : keys.get(a) > keys.get(b) ? 1 : 0);
  found.sort((a, b) => (sort.up ? compare(a, b) : compare(b, a)) || a.at - b.at);
  shown = STEP;
  show();
}

function cell(label, text, name) {
  const made = document.createElement("td");
  made.dataset.label = label;
  if (name) made.className = name;
  made.textContent = text;
  return made;
}

function line({ row }) {
  const made = document.createElement("tr");
  const name = cell("Office", "");
  const link = document.createElement("a");
  link.href = row.href;
  link.textContent = row.title || row.name;
  name.append(link);
  const counts = [[row.errors, "error"], [row.warnings, "warning"], [row.notes, "note"]];
  const said = counts.filter(([count]) => count > 0).map(([count, word]) => `${count} ${word}${count === 1 ? "" : "s"}`).join(", ") || "none";
  made.append(name, cell("Site", row.site || "–"), cell("Stage", row.stage), cell("Results", said, row.level),
    cell("Least margin", row.shown || "–"));
  return made;
}

function show() {
  at("rows").replaceChildren(...found.slice(0, shown).map(line));
  at("more").hidden = found.length <= shown;
  at("count").textContent = `${found.length} of ${rows.length} offices`;
  for (const head of document.querySelectorAll("th")) {
    if (head.dataset.key === sort.key) head.setAttribute("aria-sort", sort.up ? "ascending" : "descending");
    else head.removeAttribute("aria-sort");
  }
}

for (const field of [search, stage, level, margin]) field.addEventListener("input", look);
at("ask").addEventListener("submit", (event) => event.preventDefault());
at("more").addEventListener("click", () => { shown += STEP; show(); });
for (const button of document.querySelectorAll("th button")) {
  button.addEventListener("click", () => {
    const key = button.parentElement.dataset.key;
    sort = { key, up: sort.key === key ? !sort.up : true };
    order();
  });
}

globalThis.drysheathTexts = (from, texts) => {
  texts.forEach((text, number) => { if (rows[from + number]) rows[from + number].text = text; });
};
function load(number) {
  if (number >= data.texts.length) {
    at("texts").textContent = "";
    if (search.value) look();
    return;
  }
  at("texts").textContent = `free text: ${number} of ${data.texts.length} files read`;
  const script = document.createElement("script");
  script.src = data.texts[number];
  script.onload = () => load(number + 1);
  script.onerror = () => { at("texts").textContent = `${data.texts[number]} is missing: free text is searched in part`; };
  document.head.append(script);
}
look();
setTimeout(() => load(0), 0);
