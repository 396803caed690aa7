import { createApp } from 'astro/app/entrypoint';
import type { PublishedVersions, SiteView } from '@stillmark/records';

const app = createApp({ streaming: false });

/** Paths of all pages of a snapshot's site. */
export function pages({ snapshot }: SiteView): string[] {
  return [
    'index.html',
    ...snapshot.stations.map(({ id }) => `stations/${id}.html`),
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
  ];
}

/** One page as whole HTML. Throws for a path that is no page. */
export function renderPage(path: string, view: SiteView): Promise<string> {
  return render(path, { view });
}

/** The page of published versions, which stands beside their folders and belongs to no snapshot. */
export function renderVersions(published: PublishedVersions): Promise<string> {
  return render('versions.html', { published });
}

async function render(path: string, locals: object): Promise<string> {
  // Routes carry no ending; the files that a site is made of do.
  const address = path === 'index.html' ? '' : path.replace(/\.html$/, '');
  const response = await app.render(new Request(`http://site.invalid/${address}`), { locals });
  const html = await response.text();
  if (response.status !== 200) throw new Error(`the renderer answered ${response.status} for ${path}`);
  return html;
}
