import { networkMap, type MapBackground, type MapMovement, type MapStation } from '@stillmark/charts';
import type { BackgroundRecord, RateStatement, StationRecord } from '@stillmark/records';
import {
  formatNumber,
  headlineSentence,
  isMoving,
  rateSentence,
  siteSentence,
  stateIn,
} from '@stillmark/wording';
import { t } from '@stillmark/words';
import { confidenceText, stationHref, type Page } from './page.ts';

/** The map of the network at one of two sizes: how far stations stand from their reference positions, or how fast they move. */
export function drawMap(
  page: Page,
  size: 'wide' | 'narrow',
  what: 'displacement' | 'rate' = 'displacement',
): string {
  const { snapshot } = page;
  return networkMap({
    id: what === 'displacement' ? `map-${size}` : `map-rate-${size}`,
    width: size === 'wide' ? 880 : 360,
    height: size === 'wide' ? 640 : 470,
    title:
      what === 'rate'
        ? t`Plan of the network ${snapshot.project.title}: rates`
        : t`Plan of the network ${snapshot.project.title}`,
    description: t`North is up. ${headlineSentence(snapshot)} The table below holds every figure of the drawing.`,
    confidence: confidenceText(snapshot),
    outline: snapshot.map.outline,
    ...underMap(snapshot.map.background, page.root),
    stations: snapshot.stations.map((station) =>
      mapStation(
        page,
        station,
        what === 'displacement' ? presentSigns(page, station) : rateSigns(page, station),
      ),
    ),
  });
}

/**
 * What lies under a map, with the address of its image.
 *
 * @param root the way to the top folder of the site
 */
export function underMap(
  background: BackgroundRecord | undefined,
  root: string,
): { background?: MapBackground } {
  if (!background) return {};
  const { image, layers } = background;
  return { background: { ...(image ? { image: { ...image, href: root + image.path } } : {}), layers } };
}

/** The network as it is planned: where stations stand to the zone of influence and to the bases that they are processed from. */
export function drawPlanMap(page: Page, size: 'wide' | 'narrow'): string {
  const { plan, map, stations, project } = page.snapshot;
  return networkMap({
    id: `plan-map-${size}`,
    width: size === 'wide' ? 880 : 360,
    height: size === 'wide' ? 600 : 450,
    title: t`Plan of the network ${project.title} as it was planned`,
    description: t`North is up. Stations, the bases that they are processed from, and the zone of influence; the table below holds lengths and clearances.`,
    confidence: confidenceText(page.snapshot),
    outline: map.outline,
    ...underMap(map.background, page.root),
    lines: {
      words: t`baseline that is processed`,
      between: plan.stations.flatMap(({ id, role, baselines }) =>
        role === 'base' ? [] : baselines.map(({ base }) => [base, id] as const),
      ),
    },
    stations: stations.map(({ id, role, position }) => {
      const clearance = plan.stations.find((s) => s.id === id)?.clearance_m;
      return {
        id,
        role,
        east_m: position.east_m,
        north_m: position.north_m,
        state: 'still',
        words:
          clearance === undefined
            ? id
            : clearance < 0
              ? t`${id}: ${formatNumber(-clearance, 0)}\u202fm inside the zone of influence`
              : t`${id}: ${formatNumber(clearance, 0)}\u202fm outside the zone of influence`,
        href: stationHref(page, id),
      };
    }),
  });
}

/** The movement that is stated of a station at present; undefined where none is. */
export function presentMovement(page: Page, station: StationRecord): MapMovement | undefined {
  const state = stateIn(page.snapshot, station);
  // Of a station in doubt the vector is that from the bases that stand still, or none.
  const s =
    state === 'doubted'
      ? station.ontoStable
      : station.statement.kind === 'displacement'
        ? station.statement
        : undefined;
  return s && movementOf(s);
}

/** How a station stands out on a map: its mark, its tip and its vector. */
type Signs = Pick<MapStation, 'state' | 'words' | 'displacement'>;

function presentSigns(page: Page, station: StationRecord): Signs {
  const movement = presentMovement(page, station);
  return {
    state: stateIn(page.snapshot, station),
    words: siteSentence(page.snapshot, station, page.clock),
    ...(movement ? { displacement: movement } : {}),
  };
}

/** The same of the movement of the last days, as a rate, where it is stated and its base is not in doubt: a mark is filled by the test of the rate. */
function rateSigns(page: Page, station: StationRecord): Signs {
  const { snapshot } = page;
  const state = stateIn(snapshot, station);
  const { statement } = station;
  const told = state === 'moved' || state === 'still';
  const rate = told && statement.kind === 'displacement' ? statement.rate : undefined;
  if (!rate) return { state: told ? 'not-statable' : state, words: t`${station.id}: no rate is told of it.` };
  return {
    state: isMoving(station) ? 'moved' : 'still',
    words: `${station.id}: ${rateSentence(station, snapshot.settings)}`,
    displacement: movementOf(rate),
  };
}

function movementOf(
  s: Pick<RateStatement, 'east_mm' | 'north_mm' | 'up_mm' | 'horizontal' | 'up'>,
): MapMovement {
  return {
    east_mm: s.east_mm,
    north_mm: s.north_mm,
    ellipse: s.horizontal.ellipse,
    distinguishable: s.horizontal.distinguishable,
    up_mm: s.up_mm,
    upHalf_mm: s.up?.plusMinus_mm ?? 0,
    upDistinguishable: s.up?.distinguishable ?? false,
  };
}

function mapStation(page: Page, { id, role, position }: StationRecord, signs: Signs): MapStation {
  return {
    id,
    role,
    east_m: position.east_m,
    north_m: position.north_m,
    href: stationHref(page, id),
    ...signs,
  };
}
