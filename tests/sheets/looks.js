// What a test asks of a page: each function gives a list of what is wrong, in words.
const shape = (one) => { const box = one.getBoundingClientRect(); return { x: box.left, y: box.top, r: box.right, b: box.bottom, one }; };
const meet = (a, b, by) => a.x < b.r - by && b.x < a.r - by && a.y < b.b - by && b.y < a.b - by;
const called = (box) => `${box.one.tagName}.${box.one.getAttribute("class")} "${box.one.textContent.slice(0, 40)}"`;
// The text of a line reaches less high than its box: what counts is the ink, about 0.8 of it.
const ink = (one) => { const box = shape(one); const inset = (box.b - box.y) * 0.12; return { ...box, y: box.y + inset, b: box.b - inset }; };
function points(one) {
  const at = (x, y) => { const p = new DOMPoint(x, y).matrixTransform(one.getScreenCTM()); return [p.x, p.y]; };
  const n = (name) => Number(one.getAttribute(name));
  if (one.tagName === "line") return [at(n("x1"), n("y1")), at(n("x2"), n("y2"))];
  return one.getAttribute("points").split(" ").map((pair) => at(...pair.split(",").map(Number)));
}
function crosses(box, [x1, y1], [x2, y2]) {
  // Liang and Barsky: the part of a line within a box.
  let from = 0; let to = 1;
  for (const [p, q] of [[x1 - x2, x1 - box.x], [x2 - x1, box.r - x1], [y1 - y2, y1 - box.y], [y2 - y1, box.b - y1]]) {
    if (p === 0) { if (q <= 0) return false; continue; }
    const t = q / p;
    if (p < 0) from = Math.max(from, t); else to = Math.min(to, t);
  }
  return to - from > 1e-6;
}
function overlaps() {
  const wrong = [];
  for (const svg of document.querySelectorAll("svg.drawing, svg.profile, svg.bar, svg.legend, svg.pair")) {
    const texts = [...svg.querySelectorAll("text")].map(ink);
    for (let at = 0; at < texts.length; at += 1) {
      for (let other = at + 1; other < texts.length; other += 1) {
        if (meet(texts[at], texts[other], 0.5)) wrong.push(`${called(texts[at])} on ${called(texts[other])}`);
      }
    }
    const outside = texts.filter((text) => !/\b(in|letters)\b/.test(text.one.getAttribute("class")));
    if (!svg.matches(".pair")) {
      const symbols = [...svg.querySelectorAll(".sym, .sensor, .stop")].filter((one) => !/^(line|polyline)$/.test(one.tagName)).map(shape);
      for (const text of outside) for (const symbol of symbols) if (meet(text, symbol, 0.5)) wrong.push(`${called(text)} on ${called(symbol)}`);
    }
    const lines = [...svg.querySelectorAll("line, polyline")].filter((one) => !one.matches(".grid, .border"));
    for (const one of lines) {
      const along = points(one);
      for (let at = 1; at < along.length; at += 1) {
        for (const text of outside) {
          const inner = { ...text, x: text.x + 0.5, r: text.r - 0.5, y: text.y + 0.5, b: text.b - 0.5 };
          if (crosses(inner, along[at - 1], along[at])) wrong.push(`${called(text)} on a line ${one.getAttribute("class")}`);
        }
      }
    }
  }
  return wrong;
}
function cut() {
  const wrong = [];
  for (const page of document.querySelectorAll(".page")) {
    const name = page.getAttribute("aria-label");
    if (page.scrollHeight > page.clientHeight + 1 || page.scrollWidth > page.clientWidth + 1) wrong.push(`${name} holds more than a page`);
    const body = page.querySelector(".body"); const foot = page.querySelector(".cautions").getBoundingClientRect();
    for (const block of body.children) if (block.getBoundingClientRect().bottom > foot.top + 0.5) wrong.push(`${name}: ${block.tagName} runs into the cautions`);
    for (const cell of page.querySelectorAll("td, th, h1, h2, h3, p")) if (cell.scrollWidth > cell.clientWidth + 1 && cell.clientWidth > 0) wrong.push(`${name}: "${cell.textContent.slice(0, 40)}" is wider than its place`);
    for (const svg of page.querySelectorAll("svg")) {
      const frame = shape(svg);
      for (const text of svg.querySelectorAll("text")) {
        const box = shape(text);
        if (box.x < frame.x - 0.5 || box.r > frame.r + 0.5 || box.y < frame.y - 2 || box.b > frame.b + 2) wrong.push(`${name}: ${called(box)} is cut by its picture`);
      }
    }
  }
  return wrong;
}
