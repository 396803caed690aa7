import type { SiteView, Snapshot, StatementSettings, StreamView } from '@stillmark/records';
import { formatSpan, semicolons, ZoneClock } from '@stillmark/wording';
import { t } from '@stillmark/words';

/** What every page needs: the snapshot, its clock, and the way to the top folder of the site. */
export interface Page {
  readonly view: SiteView;
  readonly snapshot: Snapshot;
  readonly clock: ZoneClock;
  /** '' at the top, '../' one folder down: every address is relative, so that any sub-path and file:// serve. */
  readonly root: string;
}

export function pageOf(view: SiteView, url: URL): Page {
  const depth = url.pathname.split('/').length - 2;
  return {
    view,
    snapshot: view.snapshot,
    clock: new ZoneClock(view.snapshot.project.timeZone),
    root: '../'.repeat(depth),
  };
}

export function stationHref({ root }: Page, id: string): string {
  return `${root}stations/${id}.html`;
}

/** Probability of intervals and ellipses, as it is printed. */
export function confidenceText({
  settings,
}: {
  readonly settings: Pick<StatementSettings, 'confidence'>;
}): string {
  return t`${Number((100 * settings.confidence).toFixed(2))}\u202f%`;
}

/** A frame and the epoch of its coordinates. */
export function deliveredText(frame: {
  readonly name: string;
  readonly epoch?: number | string | undefined;
}): string {
  const { name, epoch } = frame;
  return epoch === undefined ? name : t`${name}, epoch ${epoch}`;
}

export function frameText({ project, stations }: Snapshot): string {
  const { ellipsoid } = project.frame;
  const plates = new Set(
    stations
      .flatMap((station) => [station, ...station.others])
      .flatMap(({ stream }) =>
        stream?.kind === 'absolute'
          ? [t`${stream.plate.name}, ${stream.plate.model}, as of ${stream.plate.epoch}`]
          : [],
      ),
  );
  return semicolons([
    `${deliveredText(project.frame)} (${ellipsoid})`,
    ...(plates.size === 0 ? [] : [t`absolute positions on the plate ${semicolons([...plates])}`]),
  ]);
}

/** Age of the newest epoch at the as-of time: `2 h`, or `none` of a second. */
export function ageText(station: Pick<StreamView, 'data'>, snapshot: Snapshot): string {
  if (!station.data) return '–';
  const age = Date.parse(snapshot.asOf) - Date.parse(station.data.last);
  if (age === 0) return '0 h';
  const unit = age >= 2 * 86_400_000 ? 86_400_000 : age >= 3_600_000 ? 3_600_000 : 60_000;
  return formatSpan(Math.round(age / unit) * unit);
}
