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
import { msg, plural, t, translated } from '@stillmark/words';
import { comparedText } from './comparison.ts';
import { commas, count, formatNumber, formatShort, list, paragraph, semicolons } from './numbers.ts';
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
        say: (ids) => {
          const what = stationChange(s, clock);
          return s.several && s.stream !== undefined
            ? t`${ids} in stream ${s.stream}: ${what}`
            : t`${ids}: ${what}`;
        },
      })),
    );
  const another = ({ state: { before, after } }: StationComparison): boolean => before !== after;
  const sections: ComparisonSection[] = [
    { title: t`States`, sentences: told(another) },
    { title: t`Bases`, sentences: baseSentences(bases) },
    {
      title: t`Levels`,
      sentences: grouped(
        triggers.map((change) => ({
          id: change.of,
          say: (ids) => t`${ids}, ${change.trigger}: ${levelChange(change)}`,
        })),
      ),
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
  /** What is said of it, and of others with it. */
  readonly say: (ids: string) => string;
}

/** One sentence for all of which the same is said: `T01 and T03, settlement: no data, before no level reached.` */
function grouped(all: readonly Said[]): string[] {
  const groups = new Map<string, Said[]>();
  for (const said of all) {
    const rest = said.say('');
    groups.set(rest, [...(groups.get(rest) ?? []), said]);
  }
  return [...groups.values()].map((same) => same[0]!.say(list([...new Set(same.map(({ id }) => id))])));
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
  const stands =
    was !== is
      ? t`${is}, before ${was}.`
      : told.length > 0 || figures.length === 0
        ? t`${is}, as before.`
        : doubted
          ? t`${is}, as before; other sizes, which are in doubt.`
          : t`${is}, as before; other sizes, distinguishable neither before nor now.`;
  return paragraph([
    stands,
    told.length > 0 ? t`${capital(semicolons(told.map(figureText)))}.` : undefined,
    reference && referenceSentence(reference, clock),
  ]);
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
  return why === undefined ? words : t`${words}, because ${why}`;
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
  const [is, was] = [comparedText(after), comparedText(before)];
  if (!after.distinguishable) return t`${name} ${is} (before ${was}), no longer distinguishable`;
  return before.distinguishable
    ? t`${name} ${is} (before ${was})`
    : t`${name} ${is} (before ${was}), now distinguishable`;
}

function referenceSentence(
  { before, after }: NonNullable<StationComparison['reference']>,
  clock: ZoneClock,
): string {
  const days = ({ from, to }: ReferenceCompared): string => clock.days(Date.parse(from), Date.parse(to));
  const date = ({ committed }: ReferenceCompared): string => clock.date(Date.parse(committed));
  if (!before) return t`It has a reference position now, of ${days(after!)}, committed on ${date(after!)}.`;
  if (!after)
    return t`It has no reference position any more; before, one of ${days(before)}, committed on ${date(before)}.`;
  return t`Its reference position is another, of ${days(after)}, committed on ${date(after)} (before of ${days(before)}, committed on ${date(before)}): the sizes are not of one movement.`;
}

function baseSentences({ doubted, cleared, still }: SnapshotComparison['bases']): string[] {
  const out: string[] = [];
  if (doubted.length > 0)
    out.push(
      plural(
        doubted.length,
        msg`${list(doubted)} is in doubt, and is new in it.`,
        msg`${list(doubted)} are in doubt, and are new in it.`,
      ),
    );
  if (cleared.length > 0)
    out.push(
      plural(
        cleared.length,
        msg`${list(cleared)} is in doubt no longer.`,
        msg`${list(cleared)} are in doubt no longer.`,
      ),
    );
  // Told where something else changes: what stays is no difference.
  if (out.length > 0 && still.length > 0)
    out.push(
      plural(
        still.length,
        msg`${list(still)} is in doubt as before.`,
        msg`${list(still)} are in doubt as before.`,
      ),
    );
  return out;
}

function levelChange({ change, before, after, between }: TriggerComparison): string {
  if (change === 'added') return t`watched newly; ${levelWords(after!)}.`;
  if (change === 'removed') return t`not watched any more; before, ${levelWords(before!)}.`;
  const [was, is] = [levelWords(before!), levelWords(after!)];
  if (!between) return was === is ? t`${is}, as before.` : t`${is}; before, ${was}.`;
  const highest = levelWords(between);
  return was === is
    ? t`${is}, as before; in between, ${highest}.`
    : t`${is}; before, ${was}; in between, ${highest}.`;
}

function levelWords({ condition, level, name, at, unit }: ComparedLevel): string {
  const size = at === undefined ? undefined : `${formatShort(at)}\u202f${unit}`;
  const reached =
    level === 0
      ? t`no level reached`
      : name === undefined || size === undefined
        ? t`at level ${level} (no longer set)`
        : t`at level ${level} (${name}, ${size})`;
  return condition === 'measured' ? reached : commas([conditionWords[condition], reached]);
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
  const rows = (n: number): string => count(n, 'row');
  switch (change) {
    case 'added':
      return after === undefined ? t`${path}: new.` : t`${path}: new, ${rows(after)}.`;
    case 'removed':
      return before === undefined
        ? t`${path}: not there any more.`
        : t`${path}: not there any more, ${rows(before)}.`;
    case 'changed':
      if (after === undefined)
        return before === undefined
          ? t`${path}: other bytes.`
          : t`${path}: other bytes, before ${rows(before)}.`;
      return before === undefined
        ? t`${path}: other bytes, ${rows(after)}.`
        : t`${path}: other bytes, ${rows(after)}, before ${formatNumber(before, 0)}.`;
  }
}

const capital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);
