// The total of what somebody has said yes to, as they choose. The server works
// it out, since what belongs to the whole depends on what was chosen; for
// browsers without this script it does so by a button.

interface Totals {
  total: string;
  rest: string;
  title: string;
  says: string;
  shown: boolean;
}

export function watchTotals(): void {
  for (const form of document.querySelectorAll<HTMLFormElement>("form[data-total]")) {
    let asked: AbortController | undefined;
    const button = form.querySelector<HTMLElement>("[data-total-button]");
    const show = async (): Promise<void> => {
      asked?.abort();
      const mine = (asked = new AbortController());
      try {
        put(form, await ask(form, mine.signal));
        if (button) button.hidden = true;
      } catch {
        if (mine.signal.aborted) return;
        // Nothing that is wrong may stand there: the button still works it out.
        text(form, "amount", "…");
        if (button) button.hidden = false;
      }
    };
    form.addEventListener("change", (e) => {
      if (e.target instanceof HTMLInputElement && e.target.type === "radio") void show();
    });
    // A browser that comes back to the page fills in what was chosen.
    addEventListener("pageshow", () => void show());
    if (button) button.hidden = true;
  }
}

async function ask(form: HTMLFormElement, signal: AbortSignal): Promise<Totals> {
  const query = new URLSearchParams();
  for (const input of form.querySelectorAll<HTMLInputElement>("input[data-counts]")) {
    if (input.type === "hidden" || input.checked) query.append("yes", input.dataset["counts"] ?? "");
  }
  const answer = await fetch(`${form.dataset["total"]}?${query}`, { headers: { Accept: "application/json" }, signal, cache: "no-store" });
  if (!answer.ok) throw new Error(String(answer.status));
  return (await answer.json()) as Totals;
}

function put(form: HTMLFormElement, t: Totals): void {
  text(form, "amount", t.total);
  text(form, "rest-amount", t.rest);
  text(form, "title", t.title);
  text(form, "says", t.says);
  form.querySelector<HTMLElement>("[data-total-rest]")?.toggleAttribute("hidden", !t.shown);
}

function text(form: HTMLFormElement, name: string, words: string): void {
  const place = form.querySelector(`[data-total-${name}]`);
  if (place && place.textContent !== words) place.textContent = words;
}
