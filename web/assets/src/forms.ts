// A form that is sent twice by an impatient finger is one change: the server
// knows it by its key. Here the second press is spared altogether.

const SENT = "data-sent";

export function watchForms(): void {
  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (!(form instanceof HTMLFormElement) || form.method !== "post") return;
    if (form.hasAttribute(SENT)) {
      event.preventDefault();
      return;
    }
    form.setAttribute(SENT, "");
    // The button that was pressed is part of what is sent, so it is switched
    // off only after the browser has gathered the form.
    setTimeout(() => {
      if (event.defaultPrevented) release(form);
      else for (const button of buttons(form)) button.setAttribute("aria-disabled", "true");
    });
  });

  // A page that comes back from the browser's own memory, and a request that
  // never got an answer, must be sendable again.
  addEventListener("pageshow", () => {
    for (const form of document.querySelectorAll<HTMLFormElement>(`form[${SENT}]`)) release(form);
    focusProblems();
  });
}

export function isSent(form: Element): boolean {
  return form.hasAttribute(SENT);
}

function release(form: HTMLFormElement): void {
  form.removeAttribute(SENT);
  for (const button of buttons(form)) button.removeAttribute("aria-disabled");
}

function buttons(form: HTMLFormElement): HTMLButtonElement[] {
  return [...form.elements].filter((e): e is HTMLButtonElement => e instanceof HTMLButtonElement && e.type === "submit");
}

// A form that came back begins with what is wrong, so the reader begins there.
function focusProblems(): void {
  document.querySelector<HTMLElement>(".problems")?.focus();
}
