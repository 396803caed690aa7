import { createApp } from 'astro/app/entrypoint';
import type { PortfolioRecord, PublishedVersions, ReleasedView, SiteView } from '@stillmark/records';
import { speak, type Words } from '@stillmark/words';
import { withoutIndents } from './indents.ts';
import { inOneDocument } from './one-document.ts';
import { asSingleFile } from './single-file.ts';

export { default as messages } from 'virtual:site-messages';

const app = createApp({ streaming: false });

/** Paths of all pages of a snapshot's site. */
export function pages({ snapshot, comparison }: SiteView): string[] {
  return [
    'index.html',
    'map.html',
    'stations.html',
    ...snapshot.stations.map(({ id }) => `stations/${id}.html`),
    ...(comparison ? ['changes.html'] : []),
    'log.html',
    'alarms.html',
    'network.html',
    'data.html',
    'plan.html',
    'velocities.html',
    'reference.html',
    'natural.html',
    'pairs.html',
    'methods.html',
    'report.html',
  ];
}

/** Pages of the report, in its order: all but the map, which stands in the overview. */
function partsOf(view: SiteView): string[] {
  const stations = view.snapshot.stations.map(({ id }) => `stations/${id}.html`);
  const others = [
    ...(view.comparison ? ['changes'] : []),
    'velocities',
    'natural',
    'pairs',
    'reference',
    'alarms',
    'plan',
    'methods',
  ];
  return [
    ...['index', 'log', 'network', 'data', 'stations'].map((name) => `${name}.html`),
    ...stations,
    ...others.map((name) => `${name}.html`),
  ];
}

/** The overview with everything in it, to be mailed; see {@link asSingleFile}. */
export async function renderSingle(
  view: SiteView,
  assets: ReadonlyMap<string, Uint8Array>,
  address: string | undefined,
): Promise<string> {
  return asSingleFile(await renderPage('index.html', view), assets, address);
}

/** One page as whole HTML. Throws for a path that is no page. */
export async function renderPage(path: string, view: SiteView): Promise<string> {
  const html = await renderOne(path, view);
  if (path !== 'report.html') return html;
  const parts: { path: string; html: string }[] = [];
  for (const part of partsOf(view)) parts.push({ path: part, html: await renderOne(part, view) });
  return inOneDocument(html, parts);
}

/** The page over several projects. */
export function renderPortfolio(portfolio: PortfolioRecord, words?: Words): Promise<string> {
  return answered('portfolio.html', { portfolio }, words);
}

/** The one page of the released site. */
export function renderReleased(released: ReleasedView): Promise<string> {
  return answered('released.html', { released }, released.words);
}

/** The page of published versions, which stands beside their folders and belongs to no snapshot. */
export function renderVersions(published: PublishedVersions, words?: Words): Promise<string> {
  return answered('versions.html', { published }, words);
}

/** Pages that were drawn of a view: the report is put together from them. */
const drawn = new WeakMap<SiteView, Map<string, Promise<string>>>();

function renderOne(path: string, view: SiteView): Promise<string> {
  let pagesOf = drawn.get(view);
  if (!pagesOf) drawn.set(view, (pagesOf = new Map()));
  let page = pagesOf.get(path);
  if (!page) pagesOf.set(path, (page = answered(path, { view }, view.words)));
  return page;
}

/** The page that is being drawn: there is one speaker, so pages are drawn one after the other. */
let drawing: Promise<unknown> = Promise.resolve();

function answered(path: string, locals: Partial<App.Locals>, words: Words | undefined): Promise<string> {
  const page = drawing.then(async () => {
    speak(words);
    try {
      return await answer(path, locals);
    } finally {
      speak(undefined);
    }
  });
  drawing = page.catch(() => undefined);
  return page;
}

async function answer(path: string, locals: Partial<App.Locals>): Promise<string> {
  // Routes carry no ending; the files that a site is made of do.
  const address = path === 'index.html' ? '' : path.replace(/\.html$/, '');
  const response = await app.render(new Request(`http://site.invalid/${address}`), { locals });
  const html = await response.text();
  if (response.status !== 200) throw new Error(`the renderer answered ${response.status} for ${path}`);
  return withoutIndents(html);
}
