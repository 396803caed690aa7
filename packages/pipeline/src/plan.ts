import { assumedNoise, knownStep, neededReferenceDays, plannedFigures } from '@stillmark/analysis';
import { degrees, TopocentricFrame } from '@stillmark/geodesy';
import {
  askedOfMovement,
  baseGeometry,
  clearanceOfAll,
  drawReach,
  effectOf,
  Horizon,
  precisionBudget,
  scheduleOf,
  skyPlan,
  skyTable,
  skyTracks,
  specificationMargin,
  troughReach,
  type PlanPoint,
  type SkyTable,
} from '@stillmark/planning';
import { warning, type Problem } from '@stillmark/problems';
import type { Project } from '@stillmark/project';
import {
  dayMs,
  formatInstant,
  gpsMinusUtcSeconds,
  systemNames,
  type DisplacementTestRecord,
  type OutlineRecord,
  type PlanRecord,
  type PlannedStart,
  type PlannedStationRecord,
  type SkyPlanRecord,
  type StationRecord,
  type StationSkyRecord,
  type SystemLetter,
} from '@stillmark/records';
import type { Effects } from './effects.ts';
import { skyFrom } from './orbit-files.ts';
import { ringOf } from './outline.ts';
import { suppliesOf } from './plan-supplies.ts';
import { projectFile, type ProjectFolder } from './project-folder.ts';
import type { Analysed } from './judge.ts';
import { approximatePosition, primaryStream, settingsOf, stepsOf } from './project-settings.ts';

/** Where the project file plans nothing (common practice, no source). */
const wantedMargin = 2;

/** Figures are told for so long after the reference period. */
const afterDays = [30, 365];

/** What is planned, and what came of it; with problems of the files that it rests on. */
export async function planOf(
  opened: ProjectFolder,
  stations: readonly StationRecord[],
  outline: readonly OutlineRecord[],
  analysed: readonly Analysed[],
  untilMs: number,
  effects: Effects,
): Promise<{ plan: PlanRecord; problems: readonly Problem[] }> {
  const { project } = opened;
  const own = project.plan;
  const zone = zoneOf(outline);
  const unzoned =
    own?.zone?.clearance !== undefined && zone.length === 0
      ? [
          warning('PROJECT_VALUE', 'a clearance is asked for, and the outline has no area of kind zone', {
            at: { file: projectFile },
            hint: 'a polygon with kind: zone in the outline',
          }),
        ]
      : [];
  const looked = own?.sky && (await skyOf(opened, own.sky, effects));
  const sky = looked?.planned;
  const monitored = stations.filter(({ role }) => role === 'monitoring').map(placeOf);
  const bases = stations.filter(({ role }) => role === 'base').map(placeOf);
  const geometry = baseGeometry(bases, monitored);
  const planned = stations.map((station): PlannedStationRecord => ({
    id: station.id,
    role: station.role,
    ...(zone.length > 0 ? { clearance_m: rounded(clearanceOfAll(placeOf(station), zone), 1) } : {}),
    baselines: baselinesOf(project, station, stations),
  }));
  return {
    plan: {
      ...startOf(project, untilMs),
      ...figuresOf(project),
      ...specificationOf(project, planned),
      stations: planned.map((station) => ({
        ...station,
        ...(sky ? { sky: skyOfStation(opened, station.id, sky) } : {}),
      })),
      ...(geometry ? { geometry: { bases: bases.length, ...geometry } } : {}),
      ...(own?.zone?.clearance === undefined ? {} : { clearance_m: own.zone.clearance }),
      zones: (own?.zone?.rules ?? []).map((rule) => ({
        what: rule.what,
        kind: rule.kind,
        reach_m: rule.kind === 'trough' ? troughReach(rule) : drawReach(rule.depth, rule.angle),
      })),
      failures: failuresOf(project),
      ...(sky ? { sky: sky.record } : {}),
      ...suppliesOf(project),
      checklist: (own?.checklist ?? []).map(({ what, done, by, result }) => ({
        what,
        ...(done === undefined ? {} : { done: dayOf(done) }),
        ...(by === undefined ? {} : { by }),
        ...(result === undefined ? {} : { result }),
      })),
      displacementTests: (own?.displacementTests ?? []).map((test) => testOf(opened, test, analysed)),
    },
    problems: [...unzoned, ...(looked?.problems ?? [])],
  };
}

type Plan = NonNullable<Project['plan']>;

const dayOf = (ms: number): string => formatInstant(ms).slice(0, 10);
const rounded = (value: number, decimals: number): number => Number(value.toFixed(decimals));

function placeOf({ id, position }: StationRecord): { id: string; east: number; north: number; up: number } {
  return { id, east: position.east_m, north: position.north_m, up: position.up_m };
}

function startOf({ plan }: Project, nowMs: number): { start?: PlannedStart } {
  const { start, installation, orders, reference } = plan ?? {};
  if (start === undefined || !installation || !orders || reference === undefined) return {};
  const referenceMs = Math.max(reference, neededReferenceDays * dayMs);
  const { readyMs, late, earliestMs, roomMs } = scheduleOf({
    orders: orders.map(({ what, ordered, lead, received }) => ({
      what,
      orderedMs: ordered,
      leadMs: lead,
      ...(received === undefined ? {} : { receivedMs: received }),
    })),
    installation: { fromMs: installation.from, toMs: installation.to },
    referenceMs,
    startMs: start,
    nowMs,
  });
  return {
    start: {
      wanted: dayOf(start),
      earliest: dayOf(earliestMs),
      roomDays: Math.floor(roomMs / dayMs),
      referenceDays: Math.round(referenceMs / dayMs),
      ready: dayOf(readyMs),
      ...(late === undefined ? {} : { late }),
    },
  };
}

function figuresOf(project: Project): Pick<PlanRecord, 'figures' | 'noiseSource'> {
  const { assumedNoise: assumed, plan } = project;
  if (!assumed) return { figures: [] };
  const settings = settingsOf(project);
  const referenceMs = Math.max(plan?.reference ?? 0, neededReferenceDays * dayMs);
  const stations = project.stations.filter(({ role }) => role === 'monitoring').length;
  return {
    figures: afterDays.map((days) => ({
      afterDays: days,
      ...plannedFigures({
        noise: assumedNoise(assumed, settings.windowMs),
        settings,
        referenceMs,
        afterMs: days * dayMs,
        stations,
      }),
    })),
    noiseSource: assumed.source,
  };
}

/** What is asked of a position, and how much better receivers are specified over the longest baseline that is held. */
function specificationOf(
  project: Project,
  stations: readonly PlannedStationRecord[],
): Pick<PlanRecord, 'specification'> {
  const { requirement, plan } = project;
  const { confidence } = settingsOf(project);
  const asked = requirement.accuracy ?? askedOfMovement(requirement);
  const asked_mm = { horizontal: 1000 * asked.horizontal, up: 1000 * asked.up };
  const told = stations.flatMap(({ id, role, baselines }) => {
    if (role === 'base') return [];
    const [longest] = baselines.filter(({ budget }) => budget).sort((a, b) => b.length_m - a.length_m);
    if (!longest?.budget) return [];
    const { halfWidths_mm, margin } = specificationMargin(longest.budget, asked_mm, confidence);
    const { horizontal: horizontal_mm, up: up_mm } = halfWidths_mm;
    return [{ id, base: longest.base, length_m: longest.length_m, horizontal_mm, up_mm, margin }];
  });
  if (told.length === 0) return {};
  return {
    specification: {
      asked: { horizontal_mm: asked_mm.horizontal, up_mm: asked_mm.up },
      askedFrom: requirement.accuracy ? 'accuracy' : 'movement',
      wantedMargin: plan?.margin ?? wantedMargin,
      stations: told,
    },
  };
}

/** Areas of the zone of influence. */
function zoneOf(outline: readonly OutlineRecord[]): PlanPoint[][][] {
  const areas: PlanPoint[][][] = [];
  for (const { kind, closed, hole, points_m } of outline) {
    if (kind !== 'zone' || !closed) continue;
    if (hole) areas.at(-1)!.push(ringOf(points_m));
    else areas.push([ringOf(points_m)]);
  }
  return areas;
}

function baselinesOf(
  project: Project,
  station: StationRecord,
  stations: readonly StationRecord[],
): PlannedStationRecord['baselines'] {
  const receiver = project.stations.find(({ id }) => id === station.id)?.receiver;
  const held = [...new Set(project.streams.flatMap(({ base }) => (base === undefined ? [] : [base])))];
  return held.flatMap((id) => {
    const base = stations.find((s) => s.id === id);
    if (!base || id === station.id) return [];
    const [a, b] = [placeOf(base), placeOf(station)];
    const length = Math.hypot(a.east - b.east, a.north - b.north, a.up - b.up);
    const budget = receiver && precisionBudget(receiver, length);
    return [
      {
        base: id,
        length_m: rounded(length, 1),
        heightDifference_m: rounded(station.position.height_m - base.position.height_m, 1),
        ...(budget ? { budget: { horizontal_mm: budget.horizontal_mm, up_mm: budget.up_mm } } : {}),
      },
    ];
  });
}

function failuresOf(project: Project): PlanRecord['failures'] {
  const bases = project.stations
    .filter(({ role }) => role === 'base')
    .map(({ id }) => ({ of: id, kind: 'base' as const, failed: [id] }));
  const shared = project.shared.map(({ name, stations }) => ({
    of: name,
    kind: 'shared' as const,
    failed: stations,
  }));
  // Of NMEA the logs are declared for each station; other streams may hold any.
  const streams = project.streams.map(({ name, base, format, sites }) => ({
    name,
    ...(base === undefined ? {} : { base }),
    ...(format === 'nmea' && sites ? { stations: Object.keys(sites) } : {}),
  }));
  return [...bases, ...shared].map(({ of, kind, failed }) => ({
    of,
    kind,
    ...effectOf(failed, project.stations, streams),
  }));
}

/** The step of the event at the time of the test is what the whole chain reports, in the stream that is stated first. */
function testOf(
  { project }: ProjectFolder,
  { station: id, at, set, by }: Plan['displacementTests'][number],
  analysed: readonly Analysed[],
): DisplacementTestRecord {
  const mm = { east_mm: 1000 * set.east, north_mm: 1000 * set.north, up_mm: 1000 * set.up };
  const test = { station: id, at: formatInstant(at), ...(by === undefined ? {} : { by }), set: mm };
  const own = analysed.find(
    ({ view }) => view.station.id === id && view.stream === primaryStream(project, view.station),
  );
  const windows = own?.analysis.windows;
  if (!windows) return { ...test, lacking: 'positions' };
  const steps = stepsOf(project, id, own.view.stream);
  const nearest = steps
    .filter(({ atMs }) => Math.abs(atMs - at) < 3_600_000)
    .sort((a, b) => Math.abs(a.atMs - at) - Math.abs(b.atMs - at))[0];
  if (!nearest) return { ...test, lacking: 'event' };
  const size = knownStep(windows, steps, nearest.atMs, settingsOf(project).confidence);
  if (!size) return { ...test, lacking: 'days' };
  const { east_mm, north_mm, up_mm, horizontalPlusMinus_mm, upPlusMinus_mm } = size;
  const off = Math.hypot(east_mm - mm.east_mm, north_mm - mm.north_mm);
  return {
    ...test,
    reported: {
      east_mm,
      north_mm,
      up_mm,
      horizontalPlusMinus_mm,
      upPlusMinus_mm,
      agrees: off <= horizontalPlusMinus_mm && Math.abs(up_mm - mm.up_mm) <= upPlusMinus_mm,
    },
  };
}

interface PlannedSky {
  readonly table: SkyTable;
  readonly settings: NonNullable<Plan['sky']>;
  readonly record: SkyPlanRecord;
}

/** Nothing but a warning where the orbits are of another time. */
async function skyOf(
  opened: ProjectFolder,
  settings: NonNullable<Plan['sky']>,
  { files }: Effects,
): Promise<{ planned?: PlannedSky; problems: readonly Problem[] }> {
  const { orbits, from, span, step, mask, satellites, pdop } = settings;
  const { sky, problems } = await skyFrom(opened, orbits, 'orbits of the plan', from, files);
  const fromGpsMs = from + 1000 * gpsMinusUtcSeconds(from);
  const knownAt = (ms: number): string[] =>
    sky.satellites.filter((satellite) => sky.at(satellite, ms) !== undefined);
  const table = skyTable({ sky, fromGpsMs, spanMs: span, stepMs: step });
  const told =
    table.knownShare === 1
      ? problems
      : [
          ...problems,
          warning(
            'PROJECT_VALUE',
            `the orbits of the plan are known for ${Math.round(100 * table.knownShare)} % of its span; the rest is not counted`,
            {
              at: { file: projectFile },
              hint: 'navigation files or an almanac of those days, or another `from`',
            },
          ),
        ];
  const first = table.known.indexOf(1);
  if (first < 0) return { problems: told };
  const known = knownAt(fromGpsMs + first * step);
  const letters = [...new Set(known.map((s) => s[0]!))];
  const origin = TopocentricFrame.at(
    opened.ellipsoid,
    approximatePosition(opened.ellipsoid, opened.project.stations[0]!),
  );
  const order = Object.keys(systemNames);
  const record: SkyPlanRecord = {
    from: formatInstant(from),
    spanMs: span,
    stepMs: step,
    drawnStepMs: step * together(span, step),
    maskDeg: mask,
    knownShare: table.knownShare,
    limits: { satellites, pdop },
    constellations: letters
      .sort((a, b) => order.indexOf(a) - order.indexOf(b))
      .map((letter) => ({
        system: systemNames[letter as SystemLetter],
        satellites: known.filter((s) => s.startsWith(letter)).length,
      })),
    // A day of an open sky, for the drawings: what stands around is drawn over it.
    tracks: skyTracks({
      frame: origin,
      horizon: new Horizon([], 0),
      sky,
      fromGpsMs,
      spanMs: Math.min(span, dayMs),
      stepMs: Math.max(step, 600_000),
    }).flatMap(({ lines }) =>
      lines.map((line) =>
        line.flatMap(({ azimuth, elevation }) => [
          rounded((degrees(azimuth) + 360) % 360, 1),
          rounded(degrees(elevation), 1),
        ]),
      ),
    ),
  };
  return { planned: { table, settings, record }, problems: told };
}

/** More steps than these would only be drawn over each other. */
const drawn = 1000;

/** How many steps stand in one that is drawn. */
function together(spanMs: number, stepMs: number): number {
  return Math.max(1, Math.ceil(spanMs / stepMs / drawn));
}

function grouped(values: ArrayLike<number>, size: number): number[][] {
  return Array.from({ length: Math.ceil(values.length / size) }, (_, k) =>
    Array.from({ length: Math.min(size, values.length - k * size) }, (__, i) => values[k * size + i]!),
  );
}

function skyOfStation(opened: ProjectFolder, id: string, planned: PlannedSky): StationSkyRecord {
  const { table, settings } = planned;
  const station = opened.project.stations.find((s) => s.id === id)!;
  const points = (station.horizon ?? []).map(([azimuth, elevation]) => ({ azimuth, elevation }));
  const plan = skyPlan({
    frame: TopocentricFrame.at(opened.ellipsoid, approximatePosition(opened.ellipsoid, station)),
    horizon: new Horizon(points, settings.mask),
    table,
    limits: { satellites: settings.satellites, pdop: settings.pdop },
  });
  const size = together(settings.span, settings.step);
  const known = (value: number): number | undefined =>
    Number.isFinite(value) ? rounded(value, 2) : undefined;
  const optional = <K extends string>(key: K, value: number): Partial<Record<K, number>> =>
    known(value) === undefined ? {} : ({ [key]: known(value) } as Partial<Record<K, number>>);
  return {
    horizon: points.flatMap(({ azimuth, elevation }) => [azimuth, elevation]),
    within: plan.within,
    fewest: plan.fewest,
    mean: plan.meanSatellites,
    ...optional('medianPdop', plan.medianPdop),
    ...optional('highPdop', plan.highPdop),
    worst: {
      from: formatInstant(settings.from + plan.worstHour.afterMs),
      within: plan.worstHour.within,
      ...optional('pdop', plan.worstHour.pdop),
    },
    satellites: grouped(
      Array.from(plan.satellites, (seen, i) => (table.known[i] ? seen : Number.POSITIVE_INFINITY)),
      size,
    ).map((group) => known(Math.min(...group)) ?? null),
    pdop: grouped(plan.pdop, size).map((group) => known(Math.max(...group)) ?? null),
  };
}
