// Turning a part of this page into the same part of a newer one, without
// taking anything out of the hands of whoever is using it: what they typed,
// where they are, and what they opened stay.
import { Idiomorph } from "idiomorph";
import { isSent } from "./forms";

// It tells whether anything was held back.
export function morphInto(here: Element, there: Element): boolean {
  // Decided before the first change is made: moving the focused element can
  // blur it, and a form must be either held or drawn anew, never half.
  const held = new Set<Element>();
  for (const form of here.querySelectorAll("form")) if (isHeld(form)) held.add(form);
  const loose = [...here.querySelectorAll(CONTROLS)].filter((e) => e instanceof HTMLElement && !formOf(e) && changed(e));
  for (const e of loose) held.add(e);

  Idiomorph.morph(here, there.innerHTML, {
    morphStyle: "innerHTML",
    ignoreActiveValue: true,
    restoreFocus: true,
    callbacks: {
      beforeNodeMorphed: (old: Node) => !(old instanceof Element && held.has(old)),
      // A half-filled form that the newer page no longer has stays until it is
      // sent: the server says then what became of the thing it is about.
      beforeNodeRemoved: (old: Node) => !(old instanceof Element && holds(old, held)),
      beforeAttributeUpdated: (name: string, element: Element) =>
        !(name === "open" && (element instanceof HTMLDetailsElement || element instanceof HTMLDialogElement)),
    },
  });
  return held.size > 0;
}

const CONTROLS = "input, select, textarea";

// A form is held while somebody is in one of its fields, has changed one, or
// has just sent it. It is held whole, with its hidden version: a newer version
// under older words would overwrite what the other one wrote.
export function isHeld(form: HTMLFormElement): boolean {
  if (isSent(form)) return true;
  const active = document.activeElement;
  return [...form.elements].some((e) => changed(e) || (e === active && e.matches(CONTROLS)));
}

function formOf(e: Element): HTMLFormElement | null {
  return (e as HTMLInputElement).form ?? null;
}

function holds(e: Element, held: ReadonlySet<Element>): boolean {
  if (held.has(e)) return true;
  for (const h of held) if (e.contains(h)) return true;
  return false;
}

function changed(e: Element): boolean {
  if (e instanceof HTMLInputElement) {
    if (e.type === "hidden" || e.type === "submit" || e.type === "button") return false;
    if (e.type === "checkbox" || e.type === "radio") return e.checked !== e.defaultChecked;
    if (e.type === "file") return (e.files?.length ?? 0) > 0;
    return e.value !== e.defaultValue;
  }
  if (e instanceof HTMLTextAreaElement) return e.value !== e.defaultValue;
  if (e instanceof HTMLSelectElement) {
    const options = [...e.options];
    // With none chosen by the page, a browser shows the first.
    const first = options.some((o) => o.defaultSelected) || e.multiple ? -1 : 0;
    return options.some((o, i) => o.selected !== (o.defaultSelected || i === first));
  }
  return false;
}
