import { ZoneClock } from '@stillmark/wording';
import { t } from '@stillmark/words';
import { placeOf } from './published-place.ts';
import { speakAsPage } from './words.ts';

/**
 * Leads from a published snapshot to the others, and says where another one has become the latest since. A snapshot is the same bytes wherever it
 * stands, so that only its address can tell; a host is asked whether what the address promises is there.
 */
async function tellPublished(page: Document, served: boolean): Promise<void> {
  const notice = page.querySelector<HTMLElement>('[data-published]');
  const item = page.querySelector<HTMLElement>('[data-published-link]');
  if (!notice || !item) return;
  const place = placeOf(new URL(notice.dataset['published'] || '.', page.baseURI).href);
  // From a folder nothing can be asked: only the name of a version is certain.
  if (!place || (!served && !place.isVersion)) return;
  const index = `${place.versions}index.html`;
  if (served && !(await fetch(index, { method: 'HEAD' }).then(({ ok }) => ok, () => false))) return; // prettier-ignore
  item.replaceChildren(linkTo(page, index, item.dataset['publishedLink']!));
  item.hidden = false;
  if (!place.isVersion || !served) return;
  const latest = await fetch(`${place.latest}status.json`).then(
    async (answer) => (answer.ok ? ((await answer.json()) as { asOf?: unknown }) : undefined),
    () => undefined,
  );
  const own = page.querySelector<HTMLTimeElement>('[data-as-of]');
  if (typeof latest?.asOf !== 'string' || !own || latest.asOf === own.dateTime) return;
  const at = Date.parse(latest.asOf);
  if (Number.isNaN(at)) return;
  const when = new ZoneClock(notice.dataset['zone']!).dateTime(at);
  const link = linkTo(page, `${place.latest}index.html`, t`as of ${when}`);
  const words =
    at > Date.parse(own.dateTime)
      ? t`A later snapshot is published:`
      : t`Another snapshot is published as the latest:`;
  notice.replaceChildren(words, ' ', link, '.');
  notice.hidden = false;
}

function linkTo(page: Document, address: string, words: string): HTMLAnchorElement {
  const link = page.createElement('a');
  [link.href, link.textContent] = [address, words];
  return link;
}

speakAsPage(document);
void tellPublished(document, location.protocol.startsWith('http'));
