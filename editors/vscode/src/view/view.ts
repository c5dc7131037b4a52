// Runs in the view: shows the drawings, says which thing was clicked, and marks the one that the cursor is on.

interface Api {
  postMessage(message: unknown): void;
}
declare function acquireVsCodeApi(): Api;

type ToView =
  | { type: 'sheet'; title: string; drawings: { id: string; title: string; svg?: string }[]; things: string[] }
  | { type: 'point'; name: string | undefined }
  | { type: 'not-current'; why: string };

const api = acquireVsCodeApi();
const sheet = document.getElementById('sheet') as HTMLElement;
const govern = document.getElementById('govern') as HTMLElement;
const usual = govern.textContent;
let pointed: string | undefined;
let before = '';

addEventListener('message', (event: MessageEvent<ToView>) => {
  if (event.data.type === 'sheet') show(event.data);
  else if (event.data.type === 'point') point(event.data.name, true);
  else govern.textContent = `Not up to date: ${event.data.why}. ${usual}`;
});
addEventListener('click', (event) => open(event.target));
addEventListener('keydown', (event) => {
  if (event.key === 'Enter' || event.key === ' ') open(event.target);
});
api.postMessage({ type: 'ready' });

function show({ drawings, things }: Extract<ToView, { type: 'sheet' }>): void {
  govern.textContent = usual;
  const names = new Set(things);
  const shown = new Map([...sheet.children].map((child) => [(child as HTMLElement).dataset['id'], child as HTMLElement]));
  const order = drawings.map(({ id, title, svg }) => {
    const section = shown.get(id) ?? document.createElement('section');
    // What comes without a drawing is the same, and stays as it is, so that nothing flickers and the scroll keeps its place.
    if (svg !== undefined) {
      section.dataset['id'] = id;
      const heading = document.createElement('h2');
      heading.textContent = title;
      const drawing = document.createElement('div');
      drawing.innerHTML = svg;
      section.replaceChildren(heading, drawing);
      bind(drawing, names);
    }
    return section;
  });
  const ids = order.map((section) => section.dataset['id']).join('\n');
  if (ids !== before) sheet.replaceChildren(...order);
  before = ids;
  point(pointed, false);
}

/** Lets whatever carries the name of a thing lead to it. */
function bind(drawing: HTMLElement, names: Set<string>): void {
  for (const said of drawing.querySelectorAll<SVGTextElement>('text.name')) {
    const group = said.closest('g[class]') ?? said;
    const lines = group === said ? [said] : [...group.querySelectorAll('text.name')];
    const whole = lines.map((line) => line.textContent ?? '').join('');
    const first = (said.textContent ?? '').split(/\s/)[0] ?? '';
    const name = [whole, first].find((one) => names.has(one));
    if (!name) continue;
    const target = (lines.length > 1 || group !== said ? group : said) as SVGElement;
    target.dataset['thing'] = name;
    target.setAttribute('tabindex', '0');
    target.setAttribute('role', 'link');
    target.setAttribute('aria-label', `${name}: go to its line`);
  }
}

function open(target: EventTarget | null): void {
  const found = target instanceof Element ? target.closest<SVGElement>('[data-thing]') : null;
  if (found) api.postMessage({ type: 'open', name: found.dataset['thing'] });
}

function point(name: string | undefined, scrolls: boolean): void {
  pointed = name;
  for (const one of sheet.querySelectorAll('.here')) one.classList.remove('here');
  if (!name) return;
  const found = [...sheet.querySelectorAll<SVGElement>('[data-thing]')].filter((one) => one.dataset['thing'] === name);
  for (const one of found) one.classList.add('here');
  if (scrolls) found[0]?.scrollIntoView({ block: 'nearest', behavior: 'instant' });
}
