import type {
  ConfigurationChange,
  DecisionRecord,
  EventKind,
  Snapshot,
  StationRecord,
  StreamRecord,
} from '@stillmark/records';
import { msg, plural, t, translated } from '@stillmark/words';
import { commas, formatShort, list } from './numbers.ts';
import { quantityText, ruleSentence } from './triggers.ts';

type Setting = Pick<ConfigurationChange, 'unit'> & { readonly value: string | number };

/** Settings that are another in the second snapshot, in its order; last those that are gone. */
export function changedConfiguration(before: Snapshot, after: Snapshot): ConfigurationChange[] {
  // What is set of a station that came or went is told with it.
  const ids = new Set(before.stations.map(({ id }) => id));
  const both = after.stations.map(({ id }) => id).filter((id) => ids.has(id));
  const [was, is] = [before, after].map((snapshot) => settingsOf(snapshot, both)) as [Settings, Settings];
  return [...new Set([...is.keys(), ...was.keys()])].flatMap((what) => {
    const [a, b] = [was.get(what), is.get(what)];
    if (a?.value === b?.value && a?.unit === b?.unit) return [];
    const unit = b?.unit ?? a?.unit;
    return [
      {
        what,
        ...(unit === undefined ? {} : { unit }),
        ...(a === undefined ? {} : { before: a.value }),
        ...(b === undefined ? {} : { after: b.value }),
      },
    ];
  });
}

type Settings = Map<string, Setting>;

function settingsOf(snapshot: Snapshot, stations: readonly string[]): Settings {
  const all: Settings = new Map();
  const set = (what: string, value: string | number | undefined, unit?: string): void => {
    if (value !== undefined) all.set(what, { value, ...(unit === undefined ? {} : { unit }) });
  };
  ofProject(snapshot, set);
  ofStatements(snapshot, set);
  for (const station of snapshot.stations.filter(({ id }) => stations.includes(id))) {
    const { id, role, on, antenna, monument, installed, position, stream } = station;
    set(t`role of ${id}`, roleText(role));
    set(t`what ${id} stands on`, on);
    set(t`antenna of ${id}`, antenna);
    set(t`monument of ${id}`, monument?.type);
    set(t`height of the monument of ${id}`, monument?.height_m, 'm');
    set(t`installation of ${id}`, installed);
    set(t`latitude of ${id}`, position.latitudeDeg, '°');
    set(t`longitude of ${id}`, position.longitudeDeg, '°');
    set(t`height of ${id}`, position.height_m, 'm');
    set(t`first stream of ${id}`, stream?.name);
  }
  for (const { stream } of snapshot.stations.flatMap((s) => [s, ...s.others]))
    if (stream) set(t`stream ${stream.name}`, streamText(stream));
  for (const { name, what, unit } of snapshot.sensors) set(t`sensor ${name}`, t`${what} in ${unit}`);
  ofTriggers(snapshot, set);
  ofPersons(snapshot, set);
  return all;
}

type Set_ = (what: string, value: string | number | undefined, unit?: string) => void;

const hours = (ms: number): number => ms / 3_600_000;
const percent = (share: number): number => Number((100 * share).toFixed(6));

function ofProject({ project }: Snapshot, set: Set_): void {
  const { frame, requirement, axes, grid } = project;
  set(t`title`, project.title);
  set(t`purpose`, project.purpose);
  set(t`time zone`, project.timeZone);
  set(t`frame`, frame.name);
  set(t`ellipsoid`, frame.ellipsoid);
  set(t`epoch of the held coordinates`, frame.epoch);
  set(t`time between processing runs`, hours(project.processingIntervalMs), 'h');
  set(t`smallest horizontal movement that must be found`, requirement.horizontal_mm, 'mm');
  set(t`smallest movement up or down that must be found`, requirement.up_mm, 'mm');
  set(t`largest half-width of horizontal intervals`, requirement.accuracy?.horizontal_mm, 'mm');
  set(t`largest half-width of intervals up or down`, requirement.accuracy?.up_mm, 'mm');
  set(t`azimuth of the longitudinal axis`, axes?.longitudinalAzimuthDeg, '°');
  set(t`transverse direction`, axes?.transverse);
  set(t`map`, grid?.projection);
  set(t`frame of the map`, grid && frameText(grid.frame, grid.epoch));
  set(
    t`grid of the site`,
    grid?.site && t`${grid.site.name}, bearing ${grid.site.bearingDeg}°, scale ${grid.site.scale}`,
  );
}

function ofStatements({ settings }: Snapshot, set: Set_): void {
  set(t`probability of intervals`, percent(settings.confidence), '%');
  set(t`chance of a wrong 'moved'`, percent(settings.familySignificance), '%');
  set(t`chance with which the detectable size is found`, percent(settings.power), '%');
  set(t`length of windows`, hours(settings.windowMs), 'h');
  set(t`length of the present`, hours(settings.statementMs), 'h');
  set(t`length of rates`, hours(settings.rateMs) / 24, t`days`);
  const { sidereal } = settings;
  set(
    t`filter of repeating multipath`,
    sidereal &&
      plural(
        sidereal.days,
        msg`from ${sidereal.days} day, repeating after ${sidereal.repeatSeconds} s`,
        msg`from ${sidereal.days} days, repeating after ${sidereal.repeatSeconds} s`,
      ),
  );
}

function streamText(stream: StreamRecord): string {
  const { solution, delivered } = stream;
  return commas([
    stream.kind === 'relative'
      ? t`relative from ${stream.base}`
      : t`absolute on the plate ${stream.plate.name} (${stream.plate.model}) at ${stream.plate.epoch}`,
    solutionText(solution),
    ...(delivered ? [t`delivered in ${frameText(delivered.name, delivered.epoch)}`] : []),
  ]);
}

/** A frame with the epoch of its coordinates, where it has one. */
function frameText(name: string, epoch: number | undefined): string {
  return epoch === undefined ? name : t`${name} at ${epoch}`;
}

// Looked up where they are said: what stands at the top of a room is carried into every script that imports it.
const solutionText = (solution: StreamRecord['solution']): string =>
  translated({ 'epoch-wise': 'epoch-wise', filtered: 'filtered' })[solution];
const roleText = (role: StationRecord['role']): string =>
  translated({ base: 'base', monitoring: 'monitoring' }, 'role')[role];
const eventText = (kind: EventKind): string =>
  translated(
    {
      structural: 'structural',
      instrument: 'instrument',
      processing: 'processing',
      base: 'base',
      note: 'note',
    },
    'kind of event',
  )[kind];

function ofTriggers({ triggers, project }: Snapshot, set: Set_): void {
  for (const trigger of triggers) {
    const { name, levels, unit, watched, from, to } = trigger;
    set(t`quantity of ${name}`, quantityText(trigger, project));
    set(t`rule of ${name}`, ruleSentence(trigger));
    set(t`begin of ${name}`, from);
    set(t`end of ${name}`, to);
    for (const [i, level] of levels.entries())
      set(
        t`level ${i + 1} of ${name}`,
        t`${level.name}, ${formatShort(level.at)} ${unit}, for ${level.responsible}`,
      );
    set(t`watched by ${name}`, list([...new Set(watched.map(({ of }) => of))]));
  }
}

function decisionText(
  finding: DecisionRecord['finding'],
  since: string | undefined,
  by: string,
  why: string,
): string {
  if (finding === 'moving')
    return since === undefined ? t`moving, by ${by}: ${why}` : t`moving since ${since}, by ${by}: ${why}`;
  return since === undefined ? t`stable, by ${by}: ${why}` : t`stable since ${since}, by ${by}: ${why}`;
}

/** What persons wrote and decided. */
function ofPersons({ project, network }: Snapshot, set: Set_): void {
  for (const { role } of project.responsible)
    set(
      t`responsible as ${role}`,
      list(project.responsible.filter((r) => r.role === role).map(({ name }) => name)),
    );
  for (const { at, what, kind, station, stream } of project.events) {
    const of = [station, stream === undefined ? undefined : t`stream ${stream}`].filter(
      (o) => o !== undefined,
    );
    const name = eventText(kind);
    set(t`event of ${at} (${what})`, of.length > 0 ? t`${name}, of ${list(of)}` : name);
  }
  for (const { base, finding, at, by, since, why } of network.decisions)
    set(t`decision of ${at} on ${base}`, decisionText(finding, since, by, why));
  for (const { at, station, method, by, result } of network.surveys)
    set(t`check survey of ${at} of ${station} (${method})`, t`by ${by}: ${result}`);
}
