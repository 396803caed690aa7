import { t } from '@stillmark/words';
/** Leads to the station whose id is typed or chosen; the span that a timeline shows goes along. */
export function findStations(page: Document, location: Location): void {
  const input = page.querySelector<HTMLInputElement>('[data-find]');
  if (!input?.list) return;
  const ids = Array.from(input.list.options, ({ value }) => value);
  const go = (): void => {
    const typed = input.value.trim().toLowerCase();
    const near = ids.filter((id) => id.toLowerCase().startsWith(typed));
    const id = ids.find((i) => i.toLowerCase() === typed) ?? (near.length === 1 ? near[0] : undefined);
    input.setCustomValidity(id === undefined && typed !== '' ? t`there is no such station` : '');
    if (id !== undefined) location.assign(`${input.dataset['find']}${id}.html${location.search}`);
    else input.reportValidity();
  };
  input.addEventListener('keydown', (event) => {
    if (event.key === 'Enter') go();
    else input.setCustomValidity('');
  });
  // What is chosen from the list comes whole, without a key.
  input.addEventListener('input', (event) => {
    if (!(event instanceof InputEvent) || event.inputType === 'insertReplacementText') go();
  });
}
