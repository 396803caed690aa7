/** Puts a drawing into the figure that stands, so that the keyboard and what was written to the figure stay where they are. */
export function replaceDrawing(place: HTMLElement, drawing: string): void {
  const template = document.createElement('template');
  template.innerHTML = drawing;
  const [next, old] = [template.content.querySelector('svg'), place.querySelector('svg')];
  if (!next || !old) return;
  for (const { name, value } of next.attributes) old.setAttribute(name, value);
  // A cursor stood on the drawing that was there.
  delete old.dataset['cursor'];
  old.replaceChildren(...next.childNodes);
}
