// The total of what somebody has said yes to, as they choose. The server works
// it out the same way, and does so for browsers without this script.

export function watchTotals(): void {
  for (const form of document.querySelectorAll<HTMLFormElement>("form[data-total]")) {
    const out = form.querySelector<HTMLOutputElement>("[data-total-amount]");
    if (!out) continue;
    form.querySelector<HTMLElement>("[data-total-button]")?.setAttribute("hidden", "");
    const show = (): void => {
      out.textContent = write(sum(form, Number(out.dataset["rest"])), out.dataset["zero"] ?? "0");
    };
    form.addEventListener("change", show);
    // A browser that comes back to the page fills in what was chosen.
    addEventListener("pageshow", show);
    show();
  }
}

// sum adds whole pennies, so that nothing is ever rounded here.
function sum(form: HTMLFormElement, rest: number): number {
  let total = 0;
  let yes = 0;
  for (const input of form.querySelectorAll<HTMLInputElement>("input[data-counts]")) {
    if (input.type === "radio" && !input.checked) continue;
    total += Number(input.dataset["minor"]);
    yes++;
  }
  return yes === 0 ? 0 : Math.max(0, total + rest);
}

// write puts an amount where the nought stands in "£0.00": what the garage's
// currency looks like is the server's to say.
function write(minor: number, zero: string): string {
  const nought = /0(?:\.(0+))?/.exec(zero);
  if (!nought) return zero;
  const places = nought[1]?.length ?? 0;
  const digits = String(minor).padStart(places + 1, "0");
  const whole = digits.slice(0, digits.length - places).replace(/\B(?=(\d{3})+$)/g, ",");
  const amount = places > 0 ? `${whole}.${digits.slice(-places)}` : whole;
  return zero.replace(nought[0], amount);
}
