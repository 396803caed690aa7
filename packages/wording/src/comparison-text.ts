import type {
  ComparedLevel,
  ConfigurationChange,
  FigureComparison,
  InputComparison,
  ReferenceCompared,
  SnapshotComparison,
  StationComparison,
  ToldState,
  TriggerComparison,
} from '@stillmark/records';
import { t, translated } from '@stillmark/words';
import { comparedText } from './comparison.ts';
import { count, formatNumber, formatShort, list } from './numbers.ts';
import { stateWords } from './sentences.ts';
import type { ZoneClock } from './times.ts';
import { conditionWords } from './triggers.ts';

/** A part of a comparison: what it is of, and its sentences. */
export interface ComparisonSection {
  readonly title: string;
  readonly sentences: readonly string[];
}

/** What two snapshots are, in sentences that stand before all others. */
export function comparisonHead({ before, after }: SnapshotComparison, clock: ZoneClock): string[] {
  const at = (instant: string): string => clock.dateTime(Date.parse(instant));
  const by = ({ name, version }: typeof after.producer): string => `${name} ${version}`;
  const out = [t`${after.title} as of ${at(after.asOf)}, told against ${at(before.asOf)}.`];
  if (before.title !== after.title) out.push(t`The first is of another project or title: ${before.title}.`);
  if (Date.parse(after.asOf) < Date.parse(before.asOf)) out.push(t`The second is the older one.`);
  if (by(before.producer) !== by(after.producer))
    out.push(
      t`Computed by ${by(after.producer)}, before by ${by(before.producer)}: figures may differ by the method alone.`,
    );
  return out;
}

/** Everything that differs, part by part; parts without a difference are not there. */
export function comparisonSections(comparison: SnapshotComparison, clock: ZoneClock): ComparisonSection[] {
  const { stations, triggers, bases, inputs, configuration, doubts } = comparison;
  const told = (keep: (s: StationComparison) => boolean): string[] =>
    grouped(
      stations.filter(keep).map((s) => ({
        id: s.id,
        where: s.several && s.stream !== undefined ? t` in stream ${s.stream}` : '',
        what: stationChange(s, clock),
      })),
    );
  const another = ({ state: { before, after } }: StationComparison): boolean => before !== after;
  const sections: ComparisonSection[] = [
    { title: t`States`, sentences: told(another) },
    { title: t`Bases`, sentences: baseSentences(bases) },
    {
      title: t`Levels`,
      sentences: grouped(triggers.map((t) => ({ id: t.of, where: `, ${t.trigger}`, what: levelChange(t) }))),
    },
    { title: t`Sizes`, sentences: told((s) => !another(s)) },
    {
      title: t`Doubts`,
      sentences: [
        ...doubts.raised.map((doubt) => t`New: ${doubt}.`),
        ...doubts.settled.map((doubt) => t`No longer: ${doubt}.`),
      ],
    },
    { title: t`Configuration`, sentences: configurationSentences(configuration, inputs) },
    { title: t`Inputs`, sentences: inputs.map(inputSentence) },
  ];
  return sections.filter(({ sentences }) => sentences.length > 0);
}

interface Said {
  readonly id: string;
  /** What follows the id. */
  readonly where: string;
  readonly what: string;
}

/** One sentence for all of which the same is said: `T01 and T03, settlement: no data, before no level reached.` */
function grouped(all: readonly Said[]): string[] {
  const groups = new Map<string, string[]>();
  for (const { id, where, what } of all) {
    const rest = `${where}: ${what}`;
    groups.set(rest, [...(groups.get(rest) ?? []), id]);
  }
  return [...groups].map(([rest, ids]) => `${list([...new Set(ids)])}${rest}`);
}

/** What a comparison does not say. */
export const comparisonLimits = (): string =>
  t`Whether a station moved between the two is not tested here: rates and velocities of the second site tell of that. Sizes that differ by less than they are rounded to count as the same, and those that are in doubt, or distinguishable in neither, are not told one by one. Pairs, responses, velocities, data health and the plan are not compared.`;

/** `moved, before no movement distinguishable. Horizontally …` */
function stationChange(comparison: StationComparison, clock: ZoneClock): string {
  const { change, state, reason, figures, reference } = comparison;
  const [was, is] = [
    stateText(comparison, state.before, reason?.before),
    stateText(comparison, state.after, reason?.after),
  ];
  if (change === 'added') return t`new; ${is}.`;
  if (change === 'removed') return t`not there any more; before, ${was}.`;
  // What a base in doubt shows is no news of the station.
  const doubted = state.after === 'doubted';
  const told = figures.filter(
    ({ figure, before, after }) =>
      (before?.distinguishable === true || after?.distinguishable === true) &&
      !(doubted && !figure.endsWith('onto')),
  );
  const others = doubted ? t`which are in doubt` : t`distinguishable neither before nor now`;
  const unsaid = was === is && told.length === 0 && figures.length > 0 ? t`; other sizes, ${others}` : '';
  const out = [`${was === is ? t`${is}, as before` : t`${is}, before ${was}`}${unsaid}.`];
  if (told.length > 0) out.push(`${capital(told.map(figureText).join('; '))}.`);
  if (reference) out.push(referenceSentence(reference, clock));
  return out.join(' ');
}

/** Of two bases it is not known which one moves. */
function stateText(
  { role, base }: StationComparison,
  state: ToldState | undefined,
  why: string | undefined,
): string {
  if (state === undefined) return '';
  const words =
    state === 'moved' && role === 'base' && base !== undefined
      ? t`seen from ${base}, seems to have moved`
      : stateWords[state];
  return `${words}${why === undefined ? '' : t`, because ${why}`}`;
}

const figureWords: Readonly<Record<FigureComparison['figure'], string>> = translated({
  horizontal: 'horizontally',
  up: 'vertically',
  'horizontal rate': 'its rate horizontally',
  'up rate': 'its rate vertically',
  'horizontal onto': 'from the bases that stand still, horizontally',
  'up onto': 'from the bases that stand still, vertically',
});

function figureText({ figure, before, after }: FigureComparison): string {
  const name = figureWords[figure];
  if (!after)
    return figure.endsWith('rate')
      ? t`of ${name} nothing is stated any more (before ${comparedText(before!)})`
      : t`${name} nothing is stated any more (before ${comparedText(before!)})`;
  if (!before) return t`${name} ${comparedText(after)} (before, nothing was stated)`;
  const seen = after.distinguishable
    ? before.distinguishable
      ? ''
      : t`, now distinguishable`
    : t`, no longer distinguishable`;
  return t`${name} ${comparedText(after)} (before ${comparedText(before)})${seen}`;
}

function referenceSentence(
  { before, after }: NonNullable<StationComparison['reference']>,
  clock: ZoneClock,
): string {
  const text = ({ from, to, committed }: ReferenceCompared): string =>
    t`of ${clock.days(Date.parse(from), Date.parse(to))}, committed on ${clock.date(Date.parse(committed))}`;
  if (!before) return t`It has a reference position now, ${text(after!)}.`;
  if (!after) return t`It has no reference position any more; before, one ${text(before)}.`;
  return t`Its reference position is another, ${text(after)} (before ${text(before)}): the sizes are not of one movement.`;
}

function baseSentences({ doubted, cleared, still }: SnapshotComparison['bases']): string[] {
  const are = (bases: readonly string[]): string => (bases.length === 1 ? t`is` : t`are`);
  const out: string[] = [];
  if (doubted.length > 0)
    out.push(t`${list(doubted)} ${are(doubted)} in doubt, and ${are(doubted)} new in it.`);
  if (cleared.length > 0) out.push(t`${list(cleared)} ${are(cleared)} in doubt no longer.`);
  // Told where something else changes: what stays is no difference.
  if (out.length > 0 && still.length > 0) out.push(t`${list(still)} ${are(still)} in doubt as before.`);
  return out;
}

function levelChange({ change, before, after, between }: TriggerComparison): string {
  if (change === 'added') return t`watched newly; ${levelWords(after!)}.`;
  if (change === 'removed') return t`not watched any more; before, ${levelWords(before!)}.`;
  const [was, is] = [levelWords(before!), levelWords(after!)];
  const ends = was === is ? t`${is}, as before` : t`${is}; before, ${was}`;
  return between ? t`${ends}; in between, ${levelWords(between)}.` : `${ends}.`;
}

function levelWords({ condition, level, name, at, unit }: ComparedLevel): string {
  const size = at === undefined ? '' : `, ${formatShort(at)}\u202f${unit}`;
  const reached = level > 0 ? t`at level ${level} (${name ?? t`no longer set`}${size})` : t`no level reached`;
  return condition === 'measured' ? reached : `${conditionWords[condition]}, ${reached}`;
}

/** The project file holds more than what is compared. */
function configurationSentences(
  changes: readonly ConfigurationChange[],
  inputs: readonly InputComparison[],
): string[] {
  const project = inputs.some(({ path, change }) => path === 'project.yaml' && change === 'changed');
  return project && changes.length === 0
    ? [t`project.yaml is another, in nothing that is compared here.`]
    : changes.map(configurationSentence);
}

function configurationSentence({ what, unit, before, after }: ConfigurationChange): string {
  const text = (value: string | number): string =>
    typeof value === 'string'
      ? value.replace(/\.$/, '')
      : `${figures(value)}${unit === undefined ? '' : unit === '°' ? unit : `\u202f${unit}`}`;
  if (before === undefined) return t`${capital(what)}, new: ${text(after!)}.`;
  if (after === undefined) return t`${capital(what)}, gone: ${text(before)}.`;
  return t`${capital(what)}: ${text(after)}; before, ${text(before)}.`;
}

/** A number with all its decimals: what is set is not rounded. */
function figures(value: number): string {
  const decimals = String(value).split('.')[1]?.length ?? 0;
  return formatNumber(value, Math.min(decimals, 10));
}

function inputSentence({ path, change, rows: { before, after } }: InputComparison): string {
  const rows = (n: number | undefined): string => (n === undefined ? '' : `, ${count(n, 'row')}`);
  switch (change) {
    case 'added':
      return t`${path}: new${rows(after)}.`;
    case 'removed':
      return t`${path}: not there any more${rows(before)}.`;
    case 'changed':
      return t`${path}: other bytes${rows(after)}${before === undefined ? '' : t`, before ${formatNumber(before, 0)}`}.`;
  }
}

const capital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);
