import type { Snapshot } from '@stillmark/records';
import { count, formatNumber } from './numbers.ts';

/** What an archive says of itself to whoever finds it, in plain text with lines that a letter could have. */
export function archiveAbout(
  { project, asOf, producer }: Pick<Snapshot, 'project' | 'asOf' | 'producer'>,
  { inputs, store }: { readonly inputs: 'files' | 'hashes'; readonly store: boolean },
): string {
  const computer = `${producer.name} ${producer.version}`;
  const given =
    inputs === 'files'
      ? [
          'data/project    the project file, what was committed, and the files that were delivered',
          ...(store ? ['                and the store that was made from them (data/project/store)'] : []),
        ]
      : [
          'data/project    the project file and what was committed',
          ...(store ? ['                and the store (data/project/store)'] : []),
          'data/inputs.csv the delivered files, by path, size and SHA-256; they are not in here',
        ];
  const snapshot = `\`stillmark snapshot --as-of ${asOf}\``;
  const again = [
    '`stillmark restore` checks and unpacks it. On the project, with its delivered files in their places,',
    store ? `${snapshot} of ${computer} gives the same site` : `\`stillmark ingest\` and ${snapshot}`,
    store ? 'again, to the byte.' : `of ${computer} give the same site again, to the byte.`,
  ];
  return `${[
    project.title,
    `GNSS deformation monitoring: project and site as of ${asOf}`,
    '',
    'This is a BagIt bag (RFC 8493). It holds',
    '',
    'data/site       the site; open data/site/index.html in a browser',
    ...given,
    '',
    'Every file is listed with its SHA-256 in manifest-sha256.txt (of data) and tagmanifest-sha256.txt',
    '(of the rest); `sha256sum -c` reads both.',
    ...again,
    '',
    'The figures support, and never replace, the judgement of the responsible licensed engineer, local',
    'codes and the emergency plan of the site. The site is not a life-safety alarm.',
  ].join('\n')}\n`;
}

/** What was put into an archive. */
export interface Archived {
  readonly title: string;
  readonly asOf: string;
  readonly files: number;
  /** Of the archive. */
  readonly bytes: number;
  readonly sha256: string;
  /** Delivered files, whether they or their hashes are in it. */
  readonly delivered: number;
  /** Files of the project folder that the project file does not name. */
  readonly leftOut: readonly string[];
}

/** What was put into an archive, and what was not. */
export function archiveSentences(
  { title, asOf, files, bytes, sha256, delivered, leftOut }: Archived,
  {
    out,
    inputs,
    store,
  }: { readonly out: string; readonly inputs: 'files' | 'hashes'; readonly store: boolean },
): string[] {
  const lines = [
    `${title} as of ${asOf}: ${count(files, 'file')}, ${formatNumber(bytes, 0)} bytes in ${out}`,
    `SHA-256 of it: ${sha256}`,
  ];
  if (inputs === 'hashes')
    lines.push(
      `Of ${count(delivered, 'delivered file')} it holds path, size and hash alone: keep them elsewhere, since the site cannot be computed again without them${store ? ' or the store' : ''}.`,
    );
  if (!store)
    lines.push('The store is not in it: `stillmark ingest` builds it again from the delivered files.');
  if (leftOut.length > 0) {
    const some = leftOut.slice(0, 3).join(', ');
    const more = leftOut.length > 3 ? ` and ${count(leftOut.length - 3, 'more', 'more')}` : '';
    lines.push(`Not in it, since project.yaml does not name them: ${some}${more}.`);
  }
  return lines;
}

/** What came out of an archive. */
export interface Restored {
  /** As the bag says. */
  readonly title?: string;
  readonly asOf?: string;
  readonly computedBy?: string;
  /** Whether delivered files were in it, and whether the store was. */
  readonly inputs: 'files' | 'hashes';
  readonly store: boolean;
  readonly files: number;
}

/** What came out of an archive, and how the site is computed again. */
export function restoreSentences(
  { title, asOf, computedBy, inputs, store, files }: Restored,
  { out, version }: { readonly out: string; readonly version: string },
): string[] {
  const what = title === undefined ? '' : ` of ${title}${asOf === undefined ? '' : ` as of ${asOf}`}`;
  const lines = [
    `Every hash is right. ${count(files, 'file')}${what} in ${out}: the site is ${out}/site/index.html, the project ${out}/project`,
  ];
  if (inputs === 'hashes' && !store)
    lines.push(
      `The delivered files are not among them: ${out}/inputs.csv lists them, and they belong into ${out}/project.`,
    );
  const ingest = store ? '' : `\`stillmark ingest ${out}/project\`, then `;
  if (asOf !== undefined)
    lines.push(
      `To compute the site again: ${ingest}\`stillmark snapshot ${out}/project --as-of ${asOf} --out DIR\`.`,
    );
  if (computedBy !== undefined && computedBy !== version)
    lines.push(`It was computed by ${computedBy}, and this is ${version}: figures may differ by the method.`);
  return lines;
}
