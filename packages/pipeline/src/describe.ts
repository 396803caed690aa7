import { degrees, platesOf, toGeodetic, type Geocentric, type TopocentricFrame } from '@stillmark/geodesy';
import { precisionBudget } from '@stillmark/planning';
import type { Commitment, Project, Station, Stream } from '@stillmark/project';
import {
  formatInstant,
  type OnMap,
  type SeriesPaths,
  type Snapshot,
  type StationRecord,
  type StationSeries,
  type StreamRecord,
} from '@stillmark/records';
import { levelLengths } from '@stillmark/snapshot';
import type { ProjectGrid } from './map-grid.ts';
import type { ProjectFolder } from './project-folder.ts';
import { approximatePosition, primaryStream } from './project-settings.ts';
import type { View } from './views.ts';

type Described = Omit<StationRecord, 'statement' | 'ties' | 'others'>;

/** What the project file says of a station. */
export function describeStation(
  opened: ProjectFolder,
  station: Station,
  origin: TopocentricFrame,
  { grid, commitment }: { grid: ProjectGrid | undefined; commitment: Commitment | undefined },
): Described {
  const { project, ellipsoid } = opened;
  const point = approximatePosition(ellipsoid, station);
  const geodetic = toGeodetic(ellipsoid, point);
  const local = origin.fromGeocentric(point);
  const primary = primaryStream(project, station);
  const { monument } = station;
  return {
    id: station.id,
    role: station.role,
    on: station.on,
    ...(station.antenna ? { antenna: station.antenna } : {}),
    ...(monument
      ? {
          monument: {
            type: monument.type,
            ...(monument.height === undefined ? {} : { height_m: monument.height }),
          },
        }
      : {}),
    ...(station.installed === undefined ? {} : { installed: formatInstant(station.installed) }),
    position: {
      latitudeDeg: degrees(geodetic.latitude),
      longitudeDeg: degrees(geodetic.longitude),
      height_m: geodetic.height,
      east_m: local.east,
      north_m: local.north,
      up_m: local.up,
    },
    ...(grid ? { onMap: onMap(grid) } : {}),
    ...(station.receiver && primary.base !== undefined && station.id !== primary.base
      ? { budget: precisionBudget(station.receiver, baseline(opened, station, primary).length) }
      : {}),
  };

  function onMap(on: ProjectGrid): OnMap {
    if (commitment) return on.position(commitment.position, 'reference');
    return on.position(point, primary.base === station.id ? 'held' : 'approximate');
  }
}

export function describeStream(opened: ProjectFolder, station: Station, stream: Stream): StreamRecord {
  const { name, solution, plate, frame } = stream;
  const delivered = frame && {
    delivered: { name: frame.name, ...(frame.epoch === undefined ? {} : { epoch: frame.epoch }) },
  };
  if (stream.kind === 'absolute') {
    const { model, name: code, epoch } = plate!;
    const plateName = platesOf(model).find((p) => p.code === code)?.name ?? code;
    return { name, kind: 'absolute', solution, ...delivered, plate: { model, code, name: plateName, epoch } };
  }
  const { base, length } = baseline(opened, station, stream);
  return {
    name,
    kind: 'relative',
    base: base.id,
    solution,
    ...delivered,
    baselineLength_m: length,
    heightDifference_m: station.position.height - base.position.height,
  };
}

function baseline(
  { project, ellipsoid }: ProjectFolder,
  station: Station,
  stream: Stream,
): { base: Station; length: number } {
  const base = project.stations.find((s) => s.id === stream.base)!;
  const [a, b]: Geocentric[] = [station, base].map((s) => approximatePosition(ellipsoid, s));
  return { base, length: Math.hypot(a!.x - b!.x, a!.y - b!.y, a!.z - b!.z) };
}

/** Where the series of a view stand in the snapshot. */
export function seriesPaths({ station, stream }: View, series: StationSeries | undefined): SeriesPaths {
  const path = `series/${stream.name}/${station.id}`;
  const lengths = series ? levelLengths(series.epochs) : [];
  return {
    epochs: `${path}-epochs.parquet`,
    windows: `${path}-windows.parquet`,
    ...(lengths.length > 0
      ? { levels: lengths.map((binMs) => ({ binMs, path: `${path}-${binMs / 1000}s.parquet` })) }
      : {}),
    script: `${path}.js`,
  };
}

export function originRecord({ geodetic }: TopocentricFrame): Snapshot['map']['origin'] {
  return {
    latitudeDeg: degrees(geodetic.latitude),
    longitudeDeg: degrees(geodetic.longitude),
    height_m: geodetic.height,
  };
}

export function referenceRecord(c: Commitment): NonNullable<StationRecord['reference']> {
  return {
    from: c.from,
    to: c.to,
    by: c.by,
    committed: c.committed,
    windows: c.evidence.windows,
    epochs: c.evidence.epochs,
    ...(c.despite === undefined ? {} : { despite: c.despite }),
  };
}

export function projectRecord(project: Project, grid?: ProjectGrid): Snapshot['project'] {
  const { title, purpose, timeZone, frame, requirement, axes } = project;
  const mm = (sizes: { horizontal: number; up: number }): { horizontal_mm: number; up_mm: number } => ({
    horizontal_mm: 1000 * sizes.horizontal,
    up_mm: 1000 * sizes.up,
  });
  return {
    title,
    ...(purpose ? { purpose } : {}),
    timeZone,
    frame: { name: frame.name, ellipsoid: frame.ellipsoid, ...(frame.epoch ? { epoch: frame.epoch } : {}) },
    processingIntervalMs: project.processingInterval,
    requirement: {
      ...mm(requirement),
      ...(requirement.accuracy ? { accuracy: mm(requirement.accuracy) } : {}),
    },
    responsible: project.responsible,
    events: project.events.map(({ at, what, kind, station, stream }) => ({
      at: formatInstant(at),
      what,
      kind,
      ...(station === undefined ? {} : { station }),
      ...(stream === undefined ? {} : { stream }),
    })),
    ...(grid ? { grid: grid.record } : {}),
    ...(axes
      ? {
          axes: {
            longitudinalAzimuthDeg: axes.longitudinalAzimuth,
            ...(axes.transverse === undefined ? {} : { transverse: axes.transverse }),
          },
        }
      : {}),
  };
}
