import type { HighestLevel, PublishedVersion } from '@stillmark/records';
import { t } from '@stillmark/words';
import { count, list } from './numbers.ts';

/** `level 2 (alarm)`, `no level reached`, `no levels set`. */
export function highestLevelText(level: HighestLevel | undefined): string {
  if (!level) return t`no levels set`;
  if (level.number === 0) return t`no level reached`;
  return t`level ${level.number} (${list(level.names)})`;
}

/** What publishing a snapshot changed. */
export function publishedSentence(
  { name }: Pick<PublishedVersion, 'name'>,
  { added, switched }: { readonly added: boolean; readonly switched: boolean },
): string {
  if (added) return t`Published as versions/${name}, and latest leads to it.`;
  if (switched) return t`Stands in versions/${name} already; latest leads to it again.`;
  return t`Stands in versions/${name} already, and latest leads to it: nothing was changed.`;
}

/** How many are published, and what was taken away. */
export function retentionSentence(kept: number, removed: readonly string[]): string {
  return removed.length === 0
    ? t`${count(kept, 'version')} published.`
    : t`${count(kept, 'version')} published; taken away: ${list(removed)}.`;
}

/** What stands where something names a station that is not released. */
export function leftOutSentence(): string {
  return t`What names a station that is not released is left out.`;
}

/** The headline of a released site; where stations are hidden it says that it is of the others. */
export function releasedHeadline(sentences: readonly string[], hides: boolean): string {
  const headline = sentences.join(' ');
  return hides ? t`Of the stations that are released: ${headline}` : headline;
}
