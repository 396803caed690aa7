/** Shows, loudly, that the figures are out of date: a static page cannot know that the feed died, but it has a clock. */
export function tellStaleness(page: Document, nowMs: number): void {
  const until = page.querySelector<HTMLTimeElement>('[data-valid-until]');
  const banner = page.querySelector<HTMLElement>('.stale');
  if (!until || !banner) return;
  const stale = nowMs > Date.parse(until.dateTime);
  page.documentElement.classList.toggle('is-stale', stale);
  if (stale && banner.hidden) {
    banner.textContent = `${banner.dataset['staleText']} ${until.textContent?.trim()}; by the clock of this device that time has passed.`;
  }
  banner.hidden = !stale;
}
