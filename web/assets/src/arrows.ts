// Arrow keys between a search and what it found: Down from the field goes to
// the first link of the part named by data-arrows, Up and Down go along the
// links, Up from the first one and Escape lead back to the field. Tab goes the
// same way; this is for hands that stay on the arrows.
export function watchArrows(): void {
  document.addEventListener("keydown", (event) => {
    const at = event.target;
    if (!(at instanceof HTMLElement) || event.altKey || event.ctrlKey || event.metaKey || event.shiftKey) return;
    const form = document.querySelector<HTMLFormElement>("form[data-arrows]");
    const part = form && document.getElementById(form.dataset["arrows"] ?? "");
    const field = form?.querySelector<HTMLInputElement>("input:not([type=hidden])");
    if (!form || !part || !field) return;
    const links = [...part.querySelectorAll<HTMLAnchorElement>("a[href]")];
    const here = links.indexOf(at as HTMLAnchorElement);
    if (at !== field && here < 0) return;
    const to = next(event.key, here, links.length);
    if (to === undefined) return;
    event.preventDefault();
    (links[to] ?? field).focus();
  });
}

// next gives the place to go to, -1 for the field; undefined when the key is
// not for us.
function next(key: string, here: number, count: number): number | undefined {
  if (key === "ArrowDown") return here + 1 < count ? here + 1 : undefined;
  if (key === "ArrowUp") return here >= 0 ? here - 1 : undefined;
  if (key === "Escape") return here >= 0 ? -1 : undefined;
  return undefined;
}
