// Completing as you type: a field with data-complete and a list of suggestions
// is filled with the first one that begins with what was typed, and the rest
// is selected. Typing on types over it; Tab or Enter takes it.
const LEAST = 2; // letters before anything is offered

export function watchCompletes(): void {
  document.addEventListener("input", (event) => {
    const field = event.target;
    if (!(field instanceof HTMLInputElement) || field.dataset["complete"] === undefined || !field.list) return;
    // Only after typing at the end: what somebody deletes stays deleted.
    if (!(event instanceof InputEvent) || event.inputType !== "insertText" || event.isComposing) return;
    const typed = field.value;
    if (typed.length < LEAST || field.selectionStart !== typed.length) return;
    const low = typed.toLowerCase();
    for (const option of field.list.options) {
      if (option.value.length > typed.length && option.value.toLowerCase().startsWith(low)) {
        field.value = option.value;
        field.setSelectionRange(typed.length, option.value.length);
        return;
      }
    }
  });
}
