import type {
  Change,
  ComparedLevel,
  ComparedSize,
  ComparedSnapshot,
  FigureComparison,
  HorizontalStatement,
  InputComparison,
  ReferenceCompared,
  Snapshot,
  SnapshotComparison,
  StationComparison,
  StationRecord,
  StreamView,
  ToldState,
  TriggerComparison,
  TriggerRecord,
  TriggerState,
  UpStatement,
  WatchedRecord,
} from '@stillmark/records';
import { t } from '@stillmark/words';
import { changedConfiguration } from './comparison-configuration.ts';
import { decimalsFor } from './numbers.ts';
import { acrossText, verticalText } from './phrases.ts';
import { baseOf, doubtedBases, stateIn } from './sentences.ts';

/**
 * What differs between what two snapshots state: states and sizes of stations as a site tells them, levels, bases in doubt, inputs,
 * configuration and doubts. Sizes that differ by less than they are rounded to are the same. Nothing is tested: both are told against
 * the same reference positions, and share their noise.
 */
export function compareSnapshots(before: Snapshot, after: Snapshot): SnapshotComparison {
  const doubted = doubtedBases(after);
  const doubtedBefore = doubtedBases(before);
  const messages = ({ doubts }: Snapshot): string[] => [...new Set(doubts.map(({ message }) => message))];
  return {
    before: compared(before),
    after: compared(after),
    stations: stationsOf(before, after),
    triggers: triggersOf(before, after),
    bases: {
      doubted: without(doubted, doubtedBefore),
      cleared: without(doubtedBefore, doubted),
      still: doubted.filter((id) => doubtedBefore.includes(id)),
    },
    inputs: inputsOf(before, after),
    configuration: changedConfiguration(before, after),
    doubts: {
      raised: without(messages(after), messages(before)),
      settled: without(messages(before), messages(after)),
    },
  };
}

const compared = ({ project, asOf, producer }: Snapshot): ComparedSnapshot => ({
  title: project.title,
  asOf,
  producer,
});

const without = (all: readonly string[], others: readonly string[]): string[] =>
  all.filter((one) => !others.includes(one));

/** Both sides of a comparison, without the one that is not there. */
function sides<T>(before: T | undefined, after: T | undefined): { before?: T; after?: T } {
  return { ...(before === undefined ? {} : { before }), ...(after === undefined ? {} : { after }) };
}

/** What two lists hold under the same key: those of the second in its order, and last those that are gone. */
function matched<T>(
  before: ReadonlyMap<string, T>,
  after: ReadonlyMap<string, T>,
): { key: string; change: Change; before?: T; after?: T }[] {
  return [...new Set([...after.keys(), ...before.keys()])].map((key) => ({
    key,
    change: before.has(key) ? (after.has(key) ? 'changed' : 'removed') : 'added',
    ...sides(before.get(key), after.get(key)),
  }));
}

interface Told {
  readonly station: StationRecord;
  readonly view: StreamView;
  readonly state: ToldState;
}

function toldOf(snapshot: Snapshot): Map<string, Told> {
  return new Map(
    snapshot.stations.flatMap((station) =>
      [station, ...station.others].map((view): [string, Told] => [
        `${station.id}\n${view.stream?.name ?? ''}`,
        { station, view, state: stateIn(snapshot, { ...view, role: station.role }) },
      ]),
    ),
  );
}

function stationsOf(before: Snapshot, after: Snapshot): StationComparison[] {
  return matched(toldOf(before), toldOf(after)).flatMap(({ change, before: a, after: b }) => {
    const { station, view } = (b ?? a)!;
    const base = baseOf(view);
    const found: StationComparison = {
      id: station.id,
      role: station.role,
      ...(base === undefined ? {} : { base }),
      ...(view.stream ? { stream: view.stream.name } : {}),
      several: station.others.length > 0,
      change,
      state: sides(a?.state, b?.state),
      ...otherOf('reason', a && reasonOf(a), b && reasonOf(b)),
      figures: a && b ? figuresOf(a.view, b.view) : [],
      ...(a && b ? otherOf('reference', referenceOf(a), referenceOf(b)) : {}),
    };
    const same =
      change === 'changed' &&
      a!.state === b!.state &&
      found.reason === undefined &&
      found.reference === undefined &&
      found.figures.length === 0;
    return same ? [] : [found];
  });
}

/** Both sides under a name, where they are not the same. */
function otherOf<K extends string, T>(
  name: K,
  before: T | undefined,
  after: T | undefined,
): Partial<Record<K, { before?: T; after?: T }>> {
  const same = JSON.stringify(before) === JSON.stringify(after);
  return same ? {} : ({ [name]: sides(before, after) } as Record<K, { before?: T; after?: T }>);
}

function reasonOf({ view: { statement } }: Told): string | undefined {
  return statement.kind === 'not-statable' ? statement.reason : undefined;
}

function referenceOf({ view: { reference } }: Told): ReferenceCompared | undefined {
  return reference && { from: reference.from, to: reference.to, committed: reference.committed };
}

function sizesOf({ statement, ontoStable }: StreamView): Map<FigureComparison['figure'], ComparedSize> {
  const sizes = new Map<FigureComparison['figure'], ComparedSize>();
  const across = (
    figure: FigureComparison['figure'],
    h: HorizontalStatement,
    more: { perDays?: number } = {},
  ): unknown =>
    sizes.set(figure, {
      value_mm: h.magnitude_mm,
      plusMinus_mm: h.plusMinus_mm,
      azimuthDeg: h.azimuthDeg,
      ...more,
      distinguishable: h.distinguishable,
      detectable_mm: h.detectable_mm,
    });
  const along = (
    figure: FigureComparison['figure'],
    up: UpStatement,
    more: { perDays?: number } = {},
  ): unknown =>
    sizes.set(figure, {
      value_mm: up.value_mm,
      plusMinus_mm: up.plusMinus_mm,
      ...more,
      distinguishable: up.distinguishable,
      detectable_mm: up.detectable_mm,
    });
  if (statement.kind === 'displacement') {
    const { horizontal, up, rate } = statement;
    across('horizontal', horizontal);
    along('up', up);
    if (rate) across('horizontal rate', rate.horizontal, { perDays: rate.perDays });
    if (rate?.up) along('up rate', rate.up, { perDays: rate.perDays });
  }
  if (ontoStable) {
    across('horizontal onto', ontoStable.horizontal);
    along('up onto', ontoStable.up);
  }
  return sizes;
}

function figuresOf(before: StreamView, after: StreamView): FigureComparison[] {
  return matched<ComparedSize>(sizesOf(before), sizesOf(after)).flatMap(({ key, before: a, after: b }) => {
    const figure = key as FigureComparison['figure'];
    return a && b && sameSize(a, b) ? [] : [{ figure, ...sides(a, b) }];
  });
}

/** `6.2 mm ± 1.9 mm toward 143°`, `4.4 mm ± 3.9 mm down`; of a rate with its time. */
export function comparedText({
  value_mm,
  plusMinus_mm,
  azimuthDeg,
  perDays,
}: Omit<ComparedSize, 'distinguishable' | 'detectable_mm'>): string {
  const size =
    azimuthDeg === undefined
      ? verticalText({ value_mm, plusMinus_mm })
      : acrossText({ magnitude_mm: value_mm, plusMinus_mm, azimuthDeg });
  return perDays === undefined ? size : t`${size} in ${perDays} days`;
}

/** Whether two sizes are printed alike, or would be but for where rounding happens to turn. */
function sameSize(a: ComparedSize, b: ComparedSize): boolean {
  if (a.distinguishable !== b.distinguishable || a.perDays !== b.perDays) return false;
  if (comparedText(a) === comparedText(b)) return true;
  const half = 0.5 * 10 ** -decimalsFor(Math.min(a.plusMinus_mm, b.plusMinus_mm));
  const near = (x: number, y: number): boolean => Math.abs(x - y) < half;
  const [p, q] = [vectorOf(a), vectorOf(b)];
  return near(p[0], q[0]) && near(p[1], q[1]) && near(a.plusMinus_mm, b.plusMinus_mm);
}

function vectorOf({ value_mm, azimuthDeg }: ComparedSize): readonly [number, number] {
  if (azimuthDeg === undefined) return [value_mm, 0];
  const azimuth = (azimuthDeg * Math.PI) / 180;
  return [value_mm * Math.sin(azimuth), value_mm * Math.cos(azimuth)];
}

interface Standing {
  readonly trigger: TriggerRecord;
  readonly watched: WatchedRecord;
}

function standingsOf({ triggers }: Snapshot): Map<string, Standing> {
  return new Map(
    triggers.flatMap((trigger) =>
      trigger.watched.map((watched): [string, Standing] => [
        `${trigger.name}\n${watched.of}\n${watched.stream}`,
        { trigger, watched },
      ]),
    ),
  );
}

function triggersOf(before: Snapshot, after: Snapshot): TriggerComparison[] {
  return matched(standingsOf(before), standingsOf(after)).flatMap(({ change, before: a, after: b }) => {
    const { trigger, watched } = (b ?? a)!;
    const [was, is] = [a, b].map((s) => s && levelOf(s.trigger, s.watched.state));
    const highest = b && highestBetween(b, before.asOf);
    const between =
      highest && highest.level > Math.max(was?.level ?? 0, is?.level ?? 0) ? highest : undefined;
    const same = was && is && was.level === is.level && was.condition === is.condition && !between;
    return same
      ? []
      : [
          {
            trigger: trigger.name,
            of: watched.of,
            change,
            ...sides(was, is),
            ...(between ? { between } : {}),
          },
        ];
  });
}

function levelOf({ levels, unit }: TriggerRecord, { condition, level }: TriggerState): ComparedLevel {
  const own = levels[level - 1];
  return { condition, level, ...(own ? { name: own.name, at: own.at } : {}), unit };
}

/** The highest level that something was at after an instant. */
function highestBetween(
  { trigger, watched: { changes } }: Standing,
  since: string,
): ComparedLevel | undefined {
  const reached = changes.filter(({ at }) => Date.parse(at) > Date.parse(since)).map(({ to }) => to);
  const highest = reached.toSorted((x, y) => y.level - x.level)[0];
  return highest && levelOf(trigger, highest);
}

function inputsOf(before: Snapshot, after: Snapshot): InputComparison[] {
  const byPath = ({ inputs }: Snapshot): Map<string, Snapshot['inputs'][number]> =>
    new Map(inputs.map((input) => [input.path, input]));
  return matched(byPath(before), byPath(after)).flatMap(({ key, change, before: a, after: b }) =>
    a?.sha256 === b?.sha256 ? [] : [{ path: key, change, rows: sides(a?.rows, b?.rows) }],
  );
}
