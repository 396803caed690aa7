import { createHash } from 'node:crypto';
import type { Snapshot } from '@stillmark/records';
import {
  changeAnchor,
  changeTitle,
  conditionWords,
  logOf,
  madeText,
  quantityText,
  type LogEntry,
} from '@stillmark/wording';
import { inert } from './tables.ts';
import { stringify } from 'csv-stringify/sync';
import XMLBuilder from 'fast-xml-builder';

/** The log of triggers as CSV (RFC 4180), oldest first, one row a change. */
export function logCsv(snapshot: Snapshot): string {
  const rows = logOf(snapshot)
    .toReversed()
    .map(({ trigger, of, change: { at, from, to, made, why, acknowledged } }) => ({
      time: at,
      trigger: trigger.name,
      quantity: quantityText(trigger, snapshot.project),
      of,
      from: conditionWords[from.condition],
      from_level: from.level,
      to: conditionWords[to.condition],
      to_level: to.level,
      level_name: trigger.levels[to.level - 1]?.name ?? '',
      value: made.at(-1)?.value.toFixed(3) ?? '',
      plus_minus: made.at(-1)?.plusMinus?.toFixed(3) ?? '',
      unit: trigger.unit,
      why: why ?? '',
      acknowledged: (acknowledged ?? [])
        .map(({ by, at: when, comment }) => `${when} ${by}${comment === undefined ? '' : `: ${comment}`}`)
        .join('; '),
    }));
  // A cell that a spreadsheet would take as a formula is text.
  return stringify(rows, {
    header: true,
    columns: [
      'time',
      'trigger',
      'quantity',
      'of',
      'from',
      'from_level',
      'to',
      'to_level',
      'level_name',
      'value',
      'plus_minus',
      'unit',
      'why',
      'acknowledged',
    ],
    cast: {
      string: (value, { column }) => (column === 'value' ? value : inert(value)),
    },
  });
}

/** Entries of a feed; older ones stand in the log. */
const newestEntries = 100;

/**
 * The log of triggers as an Atom feed (RFC 4287), newest first. Ids are of what is told (project, trigger, subject, time and new state),
 * so that the same change has the same id in every snapshot; addresses are relative, since a folder does not know where it is put.
 */
export function logAtom(snapshot: Snapshot): string {
  const { project, asOf, producer } = snapshot;
  const entries = logOf(snapshot).slice(0, newestEntries);
  const builder = new XMLBuilder({
    ignoreAttributes: false,
    attributeNamePrefix: '@',
    format: true,
    indentBy: ' ',
    suppressEmptyNode: true,
  });
  return builder.build({
    '?xml': { '@version': '1.0', '@encoding': 'utf-8' },
    feed: {
      '@xmlns': 'http://www.w3.org/2005/Atom',
      '@xml:lang': 'en',
      id: nameBased('feed', project.title),
      title: plain(`Log of ${project.title}`),
      subtitle: 'Not a life-safety alarm.',
      updated: asOf,
      author: { name: plain(project.title) },
      generator: { '@version': producer.version, '#text': plain(producer.name) },
      link: [
        { '@rel': 'self', '@type': 'application/atom+xml', '@href': 'log.atom' },
        { '@rel': 'alternate', '@type': 'text/html', '@href': 'log.html' },
      ],
      entry: entries.map((entry) => entryOf(project.title, entry)),
    },
  });
}

function entryOf(title: string, entry: LogEntry): Record<string, unknown> {
  const { trigger, of, change } = entry;
  const { at, to, acknowledged } = change;
  const said = (acknowledged ?? []).map(
    (a) => `Seen by ${a.by}, ${a.at}${a.comment === undefined ? '' : `: ${a.comment}`}`,
  );
  // What was said to a change updates its entry.
  const updated = [at, ...(acknowledged ?? []).map((a) => a.at)].toSorted().at(-1)!;
  return {
    id: nameBased('change', title, trigger.name, of, at, to.condition, String(to.level)),
    title: plain(changeTitle(entry)),
    published: at,
    updated,
    link: { '@rel': 'alternate', '@type': 'text/html', '@href': `log.html#${changeAnchor(entry)}` },
    content: {
      '@type': 'text',
      '#text': plain([madeText(trigger, change), ...said].filter((s) => s !== '').join('. ')),
    },
  };
}

const sha = (...parts: readonly string[]): string =>
  createHash('sha256').update(JSON.stringify(parts)).digest('hex');

/** A UUID of form 8 (RFC 9562, 5.8) whose bits are those of a hash of names. */
function nameBased(...parts: readonly string[]): string {
  const h = sha('stillmark', ...parts);
  const variant = ((Number.parseInt(h[16]!, 16) & 3) | 8).toString(16);
  return `urn:uuid:${h.slice(0, 8)}-${h.slice(8, 12)}-8${h.slice(13, 16)}-${variant}${h.slice(17, 20)}-${h.slice(20, 32)}`;
}

/** Without the characters that XML 1.0 cannot hold. */
function plain(text: string): string {
  // oxlint-disable-next-line no-control-regex
  return text.replace(/[\u0000-\u0008\u000b\u000c\u000e-\u001f\ufffe\uffff]/g, '');
}
