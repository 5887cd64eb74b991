// Signing with a finger or a pen. The box is drawn in units of its own, so
// that a signature is the same on every screen; the strokes go into a hidden
// field as "x,y x,y;x,y". The typed name beside it is what counts without a
// pointer, so nothing here is needed to send the form.
const WIDTH = 600;
const HEIGHT = 200;
const MAX_POINTS = 2000;
const MAX_STROKES = 60;
const STEP = 3; // units between points: finer than a pen's line is wide

type Point = [number, number];

export function watchSignatures(): void {
  for (const box of document.querySelectorAll<HTMLElement>("[data-sign]")) attach(box);
}

function attach(box: HTMLElement): void {
  const svg = box.querySelector<SVGSVGElement>("svg");
  const ink = box.querySelector<SVGPathElement>("[data-ink]");
  const field = box.querySelector<HTMLInputElement>("[data-strokes]");
  const said = box.querySelector<HTMLElement>("[data-said]");
  if (!svg || !ink || !field || !said) return;
  box.hidden = false;
  let strokes = read(field.value);
  let current: Point[] | undefined;
  let pointer = -1;

  const points = (): number => strokes.reduce((n, s) => n + s.length, 0);
  const draw = (): void => {
    field.value = strokes.map((s) => s.map(([x, y]) => `${x},${y}`).join(" ")).join(";");
    ink.setAttribute("d", strokes.map((s) => "M" + s.map(([x, y]) => `${x} ${y}`).join("L") + (s.length === 1 ? "h0" : "")).join(""));
  };
  const place = (e: PointerEvent): Point => {
    const r = svg.getBoundingClientRect();
    const x = Math.round(((e.clientX - r.left) / r.width) * WIDTH);
    const y = Math.round(((e.clientY - r.top) / r.height) * HEIGHT);
    return [Math.min(WIDTH, Math.max(0, x)), Math.min(HEIGHT, Math.max(0, y))];
  };

  svg.addEventListener("pointerdown", (e) => {
    if (!e.isPrimary || e.button !== 0 || strokes.length >= MAX_STROKES || points() >= MAX_POINTS) return;
    e.preventDefault();
    pointer = e.pointerId;
    svg.setPointerCapture(pointer);
    current = [place(e)];
    strokes.push(current);
    draw();
  });
  svg.addEventListener("pointermove", (e) => {
    if (!current || e.pointerId !== pointer) return;
    e.preventDefault();
    const fine = e.getCoalescedEvents?.() ?? [];
    for (const event of fine.length > 0 ? fine : [e]) {
      const p = place(event);
      const last = current[current.length - 1]!;
      if (Math.hypot(p[0] - last[0], p[1] - last[1]) < STEP || points() >= MAX_POINTS) continue;
      current.push(p);
    }
    draw();
  });
  const lift = (e: PointerEvent): void => {
    if (!current || e.pointerId !== pointer) return;
    current = undefined;
    said.textContent = "Signed.";
  };
  svg.addEventListener("pointerup", lift);
  svg.addEventListener("pointercancel", lift);
  box.querySelector("[data-clear]")?.addEventListener("click", () => {
    strokes = [];
    current = undefined;
    draw();
    said.textContent = "Cleared.";
  });
}

function read(value: string): Point[][] {
  if (value === "") return [];
  return value.split(";").map((s) => s.split(" ").map((p) => p.split(",").map(Number) as Point));
}
