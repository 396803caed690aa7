import { skyDay, skyPlot } from '@stillmark/charts';
import type { PlannedStationRecord, StationSkyRecord } from '@stillmark/records';
import { t } from '@stillmark/words';
import type { Page } from './page.ts';

export type SkySeen = PlannedStationRecord & { readonly sky: StationSkyRecord };

/** Stations whose sky was looked at, those that see least first. */
export function skiesOf({ snapshot }: Page): SkySeen[] {
  return snapshot.plan.stations
    .filter((station): station is SkySeen => station.sky !== undefined)
    .sort((a, b) => a.sky.within - b.sky.within || a.sky.mean - b.sky.mean);
}

/** Skies that differ: of stations with the same things around them the first stands for all. */
export function differentSkies(
  skies: readonly SkySeen[],
): { of: readonly string[]; sky: StationSkyRecord }[] {
  const groups = new Map<string, SkySeen[]>();
  for (const seen of skies) {
    const around = seen.sky.horizon.join(' ');
    groups.set(around, [...(groups.get(around) ?? []), seen]);
  }
  return [...groups.values()].map((same) => ({ of: same.map(({ id }) => id).sort(), sky: same[0]!.sky }));
}

/** Where satellites go above an antenna, and what is hidden from it. */
export function drawSky({ snapshot }: Page, name: string, { horizon }: StationSkyRecord): string {
  const { maskDeg, tracks } = snapshot.plan.sky!;
  return skyPlot({
    id: `sky-${name}`,
    width: 250,
    title: t`Sky of ${name}`,
    description: t`Tracks of satellites in a day, north up, the horizon outside; hatched is what is hidden.`,
    tracks,
    horizon,
    maskDeg,
  });
}

/** Satellites and their dilution over the span. */
export function drawSkyDay(
  { snapshot, clock }: Page,
  name: string,
  { satellites, pdop }: StationSkyRecord,
  size: 'wide' | 'narrow',
): string {
  const { from, drawnStepMs, limits } = snapshot.plan.sky!;
  return skyDay({
    id: `sky-day-${size}`,
    width: size === 'wide' ? 880 : 360,
    title: t`Satellites that ${name} sees, and their dilution`,
    description: t`The table above has the figures.`,
    fromMs: Date.parse(from),
    stepMs: drawnStepMs,
    satellites,
    pdop,
    limits,
    zone: clock,
  });
}
