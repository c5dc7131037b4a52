"use strict";
// Filters the rows of a comparison. All of them stand in the page and are read without this; it only hides some.
const at = (id) => document.getElementById(id);
const fields = ["search", "kind", "level"].map(at);
const rows = [...document.querySelectorAll("[data-kind]")].map((row) => {
  const office = row.closest("[data-office]");
  return { row, text: `${office ? office.dataset.office : ""}\n${row.textContent}`.toLowerCase() };
});
const blocks = [...document.querySelectorAll("[data-holds], section.block")].reverse();
const folded = [...document.querySelectorAll("details")].filter((one) => !one.open);

function look() {
  const [search, kind, level] = fields.map((field) => field.value);
  const words = search.toLowerCase().split(/\s+/).filter(Boolean);
  const isAsking = words.length > 0 || kind !== "" || level !== "";
  let count = 0;
  for (const { row, text } of rows) {
    const isWanted = (kind === "" || row.dataset.kind === kind) && (level === "" || row.dataset.level === level)
      && words.every((word) => text.includes(word));
    row.hidden = !isWanted;
    if (isWanted) count += 1;
  }
  for (const table of document.querySelectorAll("main table")) table.hidden = !table.querySelector("[data-kind]:not([hidden])");
  // What holds no row at all, such as an office that only came, is there as long as nobody asks.
  for (const block of blocks) block.hidden = isAsking && !block.querySelector("[data-kind]:not([hidden])");
  for (const one of folded) one.open = isAsking;
  at("nothing").hidden = count > 0 || !isAsking;
  at("count").textContent = `${count} of ${rows.length} rows`;
}

if (at("ask")) {
  at("ask").hidden = false;
  at("ask").addEventListener("submit", (event) => event.preventDefault());
  for (const field of fields) field.addEventListener("input", look);
  look();
}
// Paper cannot be unfolded. Behind it the page is as its reader left it.
const unfolded = [];
addEventListener("beforeprint", () => {
  unfolded.push(...document.querySelectorAll("details:not([open])"));
  for (const one of unfolded) one.open = true;
});
addEventListener("afterprint", () => { for (const one of unfolded.splice(0)) one.open = false; });
