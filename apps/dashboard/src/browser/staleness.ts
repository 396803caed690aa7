import { t } from '@stillmark/words';
/** Shows, loudly, that the figures are out of date: a static page cannot know that the feed died, but it has a clock. */
export function tellStaleness(page: Document, nowMs: number): void {
  const until = page.querySelector<HTMLTimeElement>('[data-valid-until]');
  const banner = page.querySelector<HTMLElement>('.stale');
  if (!until || !banner) return;
  const stale = nowMs > Date.parse(until.dateTime);
  page.documentElement.classList.toggle('is-stale', stale);
  if (stale && banner.hidden) {
    banner.textContent = t`${banner.dataset['staleText']} ${until.textContent?.trim()}; by the clock of this device that time has passed.`;
  }
  banner.hidden = !stale;
}

/** Of several projects on one page each tells by itself. */
export function tellEachStaleness(page: Document, nowMs: number): void {
  for (const entry of page.querySelectorAll('.project-entry')) {
    const until = entry.querySelector<HTMLTimeElement>('[data-valid-until]');
    const late = entry.querySelector<HTMLElement>('[data-late]');
    if (until && late) late.hidden = nowMs <= Date.parse(until.dateTime);
  }
}
