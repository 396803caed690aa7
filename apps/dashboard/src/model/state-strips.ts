import { stateStrips, type StateSpan } from '@stillmark/charts';
import type { TriggerRecord, WatchedRecord } from '@stillmark/records';
import { t } from '@stillmark/words';
import type { Page } from './page.ts';

/** The states of what a trigger watches, from the first change of any of them to the as-of time. */
export function drawStates(
  page: Page,
  trigger: TriggerRecord,
  index: number,
  size: 'wide' | 'narrow',
): string {
  const { snapshot, clock } = page;
  const asOfMs = Date.parse(snapshot.asOf);
  const first = Math.min(
    asOfMs - 86_400_000,
    ...trigger.watched.flatMap(({ changes }) => (changes[0] ? [Date.parse(changes[0].at)] : [])),
  );
  return stateStrips({
    id: `states-${index}-${size}`,
    width: size === 'wide' ? 880 : 360,
    title: t`${trigger.name}: levels over time`,
    description: t`A row for each station or pair; the table and the log below say the same in words.`,
    rows: trigger.watched.map((watched) => ({ name: watched.of, spans: spansOf(watched, first, asOfMs) })),
    span: { fromMs: first, toMs: asOfMs },
    zone: clock,
  });
}

function spansOf({ changes, state }: WatchedRecord, firstMs: number, asOfMs: number): StateSpan[] {
  const start = changes[0]?.from ?? state;
  const points = [
    { ms: firstMs, state: start },
    ...changes.map(({ at, to }) => ({ ms: Date.parse(at), state: to })),
  ];
  return points.flatMap(({ ms, state: own }, i) => {
    const toMs = Math.min(asOfMs, points[i + 1]?.ms ?? asOfMs);
    return toMs > ms ? [{ fromMs: ms, toMs, ...own }] : [];
  });
}
