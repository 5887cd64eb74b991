// Find as you type: a search form asks its own page again while somebody
// types, and takes over the part that lists what was found. The form says
// which part with data-find="the part's id". Without this script it is a
// plain search form with a button.
import { fetchPage } from "./fetchpage";
import { morphInto } from "./morph";

const PAUSE = 150; // milliseconds without a key before the server is asked

export function watchFinds(): void {
  const timers = new WeakMap<HTMLFormElement, number>();
  const running = new WeakMap<HTMLFormElement, AbortController>();

  document.addEventListener("input", (event) => {
    const form = (event.target as Element | null)?.closest<HTMLFormElement>("form[data-find]");
    if (!form) return;
    clearTimeout(timers.get(form));
    timers.set(form, setTimeout(() => void find(form), PAUSE));
  });

  async function find(form: HTMLFormElement): Promise<void> {
    running.get(form)?.abort();
    const abort = new AbortController();
    running.set(form, abort);
    const address = new URL(form.action || location.href);
    address.search = new URLSearchParams(textOf(form)).toString();
    form.setAttribute("aria-busy", "true");
    try {
      const page = await fetchPage(address.href, abort.signal);
      if (page.kind !== "page") return;
      const id = form.dataset["find"] ?? "";
      const there = page.document.getElementById(id);
      const here = document.getElementById(id);
      if (there && here) morphInto(here, there);
    } catch (error) {
      if (!abort.signal.aborted) console.warn("find:", error);
    } finally {
      if (running.get(form) === abort) form.removeAttribute("aria-busy");
    }
  }
}

function textOf(form: HTMLFormElement): [string, string][] {
  const out: [string, string][] = [];
  for (const [name, value] of new FormData(form)) if (typeof value === "string") out.push([name, value]);
  return out;
}
