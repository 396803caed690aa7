import type { ConfigurationChange, Snapshot, StreamRecord } from '@stillmark/records';
import { formatShort, list } from './numbers.ts';
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
    set(`role of ${id}`, role);
    set(`what ${id} stands on`, on);
    set(`antenna of ${id}`, antenna);
    set(`monument of ${id}`, monument?.type);
    set(`height of the monument of ${id}`, monument?.height_m, 'm');
    set(`installation of ${id}`, installed);
    set(`latitude of ${id}`, position.latitudeDeg, '°');
    set(`longitude of ${id}`, position.longitudeDeg, '°');
    set(`height of ${id}`, position.height_m, 'm');
    set(`first stream of ${id}`, stream?.name);
  }
  for (const { stream } of snapshot.stations.flatMap((s) => [s, ...s.others]))
    if (stream) set(`stream ${stream.name}`, streamText(stream));
  for (const { name, what, unit } of snapshot.sensors) set(`sensor ${name}`, `${what} in ${unit}`);
  ofTriggers(snapshot, set);
  ofPersons(snapshot, set);
  return all;
}

type Set_ = (what: string, value: string | number | undefined, unit?: string) => void;

const hours = (ms: number): number => ms / 3_600_000;
const percent = (share: number): number => Number((100 * share).toFixed(6));

function ofProject({ project }: Snapshot, set: Set_): void {
  const { frame, requirement, axes, grid } = project;
  set('title', project.title);
  set('purpose', project.purpose);
  set('time zone', project.timeZone);
  set('frame', frame.name);
  set('ellipsoid', frame.ellipsoid);
  set('epoch of the held coordinates', frame.epoch);
  set('time between processing runs', hours(project.processingIntervalMs), 'h');
  set('smallest horizontal movement that must be found', requirement.horizontal_mm, 'mm');
  set('smallest movement up or down that must be found', requirement.up_mm, 'mm');
  set('largest half-width of horizontal intervals', requirement.accuracy?.horizontal_mm, 'mm');
  set('largest half-width of intervals up or down', requirement.accuracy?.up_mm, 'mm');
  set('azimuth of the longitudinal axis', axes?.longitudinalAzimuthDeg, '°');
  set('transverse direction', axes?.transverse);
  set('map', grid?.projection);
  set('frame of the map', grid && `${grid.frame}${grid.epoch === undefined ? '' : ` at ${grid.epoch}`}`);
  set(
    'grid of the site',
    grid?.site && `${grid.site.name}, bearing ${grid.site.bearingDeg}°, scale ${grid.site.scale}`,
  );
}

function ofStatements({ settings }: Snapshot, set: Set_): void {
  set('probability of intervals', percent(settings.confidence), '%');
  set("chance of a wrong 'moved'", percent(settings.familySignificance), '%');
  set('chance with which the detectable size is found', percent(settings.power), '%');
  set('length of windows', hours(settings.windowMs), 'h');
  set('length of the present', hours(settings.statementMs), 'h');
  set('length of rates', hours(settings.rateMs) / 24, 'days');
  const { sidereal } = settings;
  set(
    'filter of repeating multipath',
    sidereal && `from ${sidereal.days} days, repeating after ${sidereal.repeatSeconds} s`,
  );
}

function streamText(stream: StreamRecord): string {
  const { kind, solution, delivered } = stream;
  const from =
    stream.kind === 'relative'
      ? `from ${stream.base}`
      : `on the plate ${stream.plate.name} (${stream.plate.model}) at ${stream.plate.epoch}`;
  const frame = delivered
    ? `, delivered in ${delivered.name}${delivered.epoch === undefined ? '' : ` at ${delivered.epoch}`}`
    : '';
  return `${kind} ${from}, ${solution}${frame}`;
}

function ofTriggers({ triggers, project }: Snapshot, set: Set_): void {
  for (const trigger of triggers) {
    const { name, levels, unit, watched, from, to } = trigger;
    set(`quantity of ${name}`, quantityText(trigger, project));
    set(`rule of ${name}`, ruleSentence(trigger));
    set(`begin of ${name}`, from);
    set(`end of ${name}`, to);
    for (const [i, level] of levels.entries())
      set(
        `level ${i + 1} of ${name}`,
        `${level.name}, ${formatShort(level.at)} ${unit}, for ${level.responsible}`,
      );
    set(`watched by ${name}`, list([...new Set(watched.map(({ of }) => of))]));
  }
}

/** What persons wrote and decided. */
function ofPersons({ project, network }: Snapshot, set: Set_): void {
  for (const { role } of project.responsible)
    set(
      `responsible as ${role}`,
      list(project.responsible.filter((r) => r.role === role).map(({ name }) => name)),
    );
  for (const { at, what, kind, station, stream } of project.events) {
    const of = [station, stream === undefined ? undefined : `stream ${stream}`].filter(
      (o) => o !== undefined,
    );
    set(`event of ${at} (${what})`, `${kind}${of.length > 0 ? `, of ${list(of)}` : ''}`);
  }
  for (const { base, finding, at, by, since, why } of network.decisions)
    set(
      `decision of ${at} on ${base}`,
      `${finding}${since === undefined ? '' : ` since ${since}`}, by ${by}: ${why}`,
    );
  for (const { at, station, method, by, result } of network.surveys)
    set(`check survey of ${at} of ${station} (${method})`, `by ${by}: ${result}`);
}
