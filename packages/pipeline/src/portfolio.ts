import { basename, dirname, join, relative, sep } from 'node:path';
import { fail } from '@stillmark/problems';
import type { PortfolioEntry, PortfolioRecord, Snapshot } from '@stillmark/records';
import { parseSnapshot } from '@stillmark/snapshot';
import { headlineSentence, highestLevel, reachedSentences, ZoneClock } from '@stillmark/wording';
import { inWords, type Words } from '@stillmark/words';
import { plainAssets, type Effects, type Renderer } from './effects.ts';
import { putFolder } from './publish-folder.ts';
import { wordsOfSite } from './words-file.ts';

export interface PortfolioTask {
  readonly sites: readonly string[];
  readonly out: string;
  readonly title: string;
}

/**
 * Writes one page over the sites of several projects, in the order in which they are given, with links to them as they lie beside it.
 *
 * @throws SNAPSHOT_FORMAT where a folder holds no snapshot, USE_OPTION where the page would stand inside of a site or be one
 */
export async function portfolio(
  { sites, out, title }: PortfolioTask,
  renderer: Renderer,
  { files }: Effects,
): Promise<PortfolioRecord> {
  const place = await files.resolve(out);
  const projects: PortfolioEntry[] = [];
  const spoken: (Words | undefined)[] = [];
  for (const site of sites) {
    const way = relative(await files.resolve(site), place);
    if (way === '' || (!way.startsWith('..') && !way.startsWith(sep)))
      fail('USE_OPTION', 'the portfolio would stand inside of a site', {
        at: { file: site },
        hint: '--out a folder beside the sites',
      });
    const file = join(site, 'snapshot.json');
    const bytes = await files.read(file);
    if (!bytes)
      return fail('SNAPSHOT_FORMAT', 'the folder holds no snapshot', {
        at: { file: site },
        hint: 'a folder written by `stillmark snapshot`',
      });
    const snapshot = parseSnapshot(new TextDecoder().decode(bytes), file);
    // A link to the newest version keeps being one: it will lead to a newer one.
    const folder =
      (await files.readLink(site)) === undefined
        ? await files.resolve(site)
        : join(await files.resolve(dirname(site)), basename(site));
    const href = relative(place, folder).split(sep).map(encodeURIComponent).join('/').replaceAll('%2E', '.');
    const words = await wordsOfSite(folder, files);
    spoken.push(words);
    projects.push(inWords(words, () => entryOf(snapshot, `${href}/index.html`)));
  }
  const record: PortfolioRecord = { format: 'stillmark-portfolio', version: 1, title, projects };
  const contents = new Map<string, Uint8Array>();
  const put = (path: string, text: string): unknown => contents.set(path, new TextEncoder().encode(text));
  // Each project speaks for itself; the page around them their language where it is one.
  const [first] = spoken;
  const common = spoken.every((words) => words?.language === first?.language) ? first : undefined;
  put('index.html', await renderer.renderPortfolio(record, common));
  put('portfolio.json', `${JSON.stringify(record, undefined, 1)}\n`);
  for (const [path, asset] of await plainAssets(renderer)) contents.set(path, asset);
  await putFolder(out, contents, files);
  return record;
}

function entryOf(snapshot: Snapshot, href: string): PortfolioEntry {
  const { title, purpose, timeZone } = snapshot.project;
  const watched = snapshot.triggers.some((t) => t.watched.some(({ state }) => state.condition !== 'ended'));
  const highest = watched ? highestLevel(snapshot) : undefined;
  return {
    title,
    ...(purpose === undefined ? {} : { purpose }),
    href,
    timeZone,
    asOf: snapshot.asOf,
    validUntil: snapshot.validUntil,
    headline: headlineSentence(snapshot),
    ...(highest
      ? {
          level: {
            level: highest.number,
            ...(highest.names[0] === undefined ? {} : { name: highest.names[0] }),
          },
        }
      : {}),
    reached: reachedSentences(snapshot, new ZoneClock(timeZone)),
    stations: snapshot.stations.length,
    doubts: snapshot.doubts.length,
  };
}
