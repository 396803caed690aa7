import type { HighestLevel, PublishedVersion } from '@stillmark/records';
import { count, list } from './numbers.ts';

/** `level 2 (alarm)`, `no level reached`, `no levels set`. */
export function highestLevelText(level: HighestLevel | undefined): string {
  if (!level) return 'no levels set';
  if (level.number === 0) return 'no level reached';
  return `level ${level.number} (${list(level.names)})`;
}

/** What publishing a snapshot changed. */
export function publishedSentence(
  { name }: Pick<PublishedVersion, 'name'>,
  { added, switched }: { readonly added: boolean; readonly switched: boolean },
): string {
  if (added) return `Published as versions/${name}, and latest leads to it.`;
  if (switched) return `Stands in versions/${name} already; latest leads to it again.`;
  return `Stands in versions/${name} already, and latest leads to it: nothing was changed.`;
}

/** How many are published, and what was taken away. */
export function retentionSentence(kept: number, removed: readonly string[]): string {
  const away = removed.length === 0 ? '' : `; taken away: ${list(removed)}`;
  return `${count(kept, 'version')} published${away}.`;
}
