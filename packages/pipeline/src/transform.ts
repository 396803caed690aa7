import {
  checkSameEllipsoid,
  compose,
  covarianceFault,
  decimalYear,
  degrees,
  ellipsoids,
  ellipsoidsAgree,
  geocentricKind,
  localCovarianceNames,
  FrameRegistry,
  isPublishedFrame,
  radians,
  toPlateEpoch,
  transformPoints,
  type Affine,
  type CoordinateKind,
  type FramePath,
  type PlateModel,
  type Symmetric3,
  type Triple,
} from '@stillmark/geodesy';
import { readPoints, type PointsFile } from '@stillmark/formats';
import { fail, ProblemError, type Problem } from '@stillmark/problems';
import { coordinateKind } from './coordinate-kind.ts';
import type { Effects } from './effects.ts';
import { openProject } from './project-folder.ts';
import { mapEpoch, type Project } from '@stillmark/project';

export interface TransformTask {
  /** A CSV file of points, or one point. */
  readonly file?: string;
  readonly point?: Triple;
  /** Of the point. */
  readonly covariance?: Symmetric3;
  /** Kinds of coordinates, see {@link coordinateKind}. */
  readonly input: string;
  readonly output: string;
  readonly from?: string;
  readonly to?: string;
  /** Decimal year of the coordinates. */
  readonly epoch?: number;
  /** Decimal year to which they are moved with a plate. */
  readonly toEpoch?: number;
  readonly plate?: { readonly model: PlateModel; readonly name: string };
  /** Origin of topocentric coordinates: degrees, and metres above GRS 1980. */
  readonly origin?: Triple;
  /** Project folder, for its transformations, its map and the grid of its site. */
  readonly project?: string;
}

/** One step of the way, for the record. */
export interface StepTaken {
  readonly from: string;
  readonly to: string;
  /** True where the published parameters lead the other way and their exact inverse was taken. */
  readonly inverse: boolean;
  readonly epsg?: number;
  readonly source: string;
}

export interface TransformResult {
  readonly output: CoordinateKind;
  /** Coordinates in the order of the output's names, angles in degrees; covariances in square metres. */
  readonly coordinates: Float64Array;
  readonly covariances?: Float64Array;
  readonly steps: readonly StepTaken[];
  /** What the file held beside, where there was one. */
  readonly given?: PointsFile;
}

/**
 * Points from one kind of coordinates, frame and epoch to another, with their covariances. All of them or none.
 *
 * @throws USE_OPTION, USE_FILE_MISSING, the problems of the file's rows (all at once), and GEODESY_ problems with the line of the point
 */
export async function transform(asked: TransformTask, { files }: Effects): Promise<TransformResult> {
  checkOptions(asked);
  const project = asked.project === undefined ? undefined : (await openProject(asked.project, files)).project;
  const task = withFramesOfMap(asked, project);
  const registry = new FrameRegistry(project?.transformations);
  const input = coordinateKind(task.input, task, project);
  const output = coordinateKind(task.output, task, project);
  checkFrames(task, registry, input, output);
  const way = wayOf(task, registry);

  const given = task.file === undefined ? undefined : await readFile(task.file, input, files);
  if (given?.epochs && asked.epoch !== undefined)
    fail('USE_OPTION', `${task.file} has epochs of its own, and --epoch gives another`, {
      hint: 'one of them',
    });
  if (!given && !task.point)
    fail('USE_OPTION', 'there is nothing to transform', { hint: 'a file, or --point' });
  const coordinates = given?.coordinates ?? Float64Array.from(task.point!);
  const covariances = given?.covariances ?? (task.covariance && Float64Array.from(task.covariance));
  const epochs = given?.epochs
    ? given.epochs.values.map((value) => (given.epochs!.kind === 'year' ? value : decimalYear(value)))
    : task.epoch;

  const place: Place = {
    i: 0,
    ...(task.file === undefined ? {} : { file: task.file }),
    ...(given ? { lines: given.lines } : {}),
  };
  inLine(place, () => {
    decode(input, coordinates, covariances, place);
    if (way) moveAll(way.mapAt, epochs, coordinates, covariances, place);
    encode(output, coordinates, covariances, place);
  });
  return {
    output,
    coordinates,
    ...(covariances ? { covariances } : {}),
    steps: way?.steps ?? [],
    ...(given ? { given } : {}),
  };
}

/** What would otherwise be passed over without a word. */
function checkOptions({ file, point, covariance, origin, input, output }: TransformTask): void {
  if (file !== undefined && point)
    fail('USE_OPTION', 'a file and --point are both given', { hint: 'one of them' });
  if (covariance && !point)
    fail('USE_OPTION', '--covariance is that of --point', { hint: 'columns of the file, such as xx to zz' });
  if (origin && ![input, output].some((kind) => kind.trim() === 'topocentric'))
    fail('USE_OPTION', '--origin is that of topocentric coordinates', {
      hint: '--input topocentric or --output topocentric',
    });
}

/** Coordinates on the map of a project are in the frame of that map: what is not said is that, what is said must be it. */
function withFramesOfMap(task: TransformTask, project: Project | undefined): TransformTask {
  const onMap = (kind: string): boolean => ['map', 'site'].includes(kind.trim());
  if (!project?.map || !(onMap(task.input) || onMap(task.output))) return task;
  const frame = project.map.frame ?? project.frame.name;
  const wanted = (option: string, given: string | undefined, of: string): string => {
    const right = onMap(of) ? frame : (given ?? project.frame.name);
    if (given !== undefined && given !== right)
      fail('USE_OPTION', `the map of the project is in ${frame}, and ${option} says ${given}`, {
        hint: `${option} ${frame}, or nothing`,
      });
    return right;
  };
  const from = wanted('--from', task.from, task.input);
  const to = wanted('--to', task.to, task.output);
  // As the station pages do: positions stand at the epoch that the project gives, where none is given here.
  const epoch = task.epoch ?? (from === to ? undefined : mapEpoch(project));
  return { ...task, from, to, ...(epoch === undefined ? {} : { epoch }) };
}

async function readFile(file: string, kind: CoordinateKind, files: Effects['files']): Promise<PointsFile> {
  if ((await files.kind(file)) === 'folder')
    return fail('USE_FILE_MISSING', 'this is a folder', { at: { file }, hint: 'a CSV file of points' });
  const bytes = await files.read(file);
  if (!bytes)
    return fail('USE_FILE_MISSING', 'there is no such file', { at: { file }, hint: 'a CSV file of points' });
  const points = readPoints(bytes, file, {
    kind: kind.name,
    names: kind.names,
    covarianceNames: kind.covarianceNames,
    otherCovarianceNames: kind === geocentricKind ? localCovarianceNames : geocentricKind.covarianceNames,
  });
  if (points.rejected.length > 0) throw new ProblemError(points.rejected.map(({ problem }) => problem));
  return points;
}

interface Way {
  readonly mapAt: (epoch: number | undefined) => Affine;
  readonly steps: readonly StepTaken[];
}

/** Undefined where the coordinates stay in their frame and at their epoch. */
function wayOf({ from, to, toEpoch, plate }: TransformTask, registry: FrameRegistry): Way | undefined {
  if (toEpoch === undefined) {
    if (plate)
      fail('USE_OPTION', '--plate moves points in time', {
        hint: '--to-epoch, with the year to move them to',
      });
    if (from === undefined || to === undefined) return undefined;
    const path = registry.path(from, to);
    return { mapAt: (epoch) => path.at(epoch), steps: stepsOf(path) };
  }
  if (!plate || from === undefined || to === undefined)
    return fail('USE_OPTION', '--to-epoch moves points with their plate, in a frame', {
      hint: '--plate with the model and the plate, such as ITRF2020:EURA; and --from and --to',
    });
  // The poles of a model hold in its own frame: there, and on.
  const there = registry.path(from, plate.model);
  const on = registry.path(plate.model, to);
  return {
    mapAt: (epoch) => {
      if (epoch === undefined)
        fail('GEODESY_EPOCH', 'to move points in time, their own epoch is needed', {
          hint: '--epoch, or a column epoch or time',
        });
      const moved = toPlateEpoch(plate.model, plate.name, epoch, toEpoch);
      return compose(compose(there.at(epoch), moved), on.at(toEpoch));
    },
    steps: [
      ...stepsOf(there),
      {
        from: plate.model,
        to: plate.model,
        inverse: false,
        source: `plate ${plate.name} to ${toEpoch} by the plate motion model of ${plate.model}`,
      },
      ...stepsOf(on),
    ],
  };
}

function stepsOf({ steps }: FramePath): StepTaken[] {
  return steps.map(({ link: { from, to, epsg, source }, backward }) => ({
    from: backward ? to : from,
    to: backward ? from : to,
    inverse: backward,
    ...(epsg === undefined ? {} : { epsg }),
    source,
  }));
}

/** Coordinates belong to the datum of their ellipsoid: published frames all stand on GRS 1980, as far as it matters. */
function checkFrames(
  { from, to }: TransformTask,
  registry: FrameRegistry,
  input: CoordinateKind,
  output: CoordinateKind,
): void {
  if ((from === undefined) !== (to === undefined))
    fail('USE_OPTION', from === undefined ? '--to without --from' : '--from without --to', {
      hint: 'both frames, or neither',
    });
  if (from === undefined || from === to) checkSameEllipsoid(input, output);
  if (from === undefined) return;
  registry.path(from, to!);
  for (const [frame, kind] of [
    [from, input],
    [to!, output],
  ] as const)
    if (isPublishedFrame(frame) && kind.ellipsoid && !ellipsoidsAgree(kind.ellipsoid, ellipsoids['GRS 1980']))
      fail('GEODESY_FRAME', `${kind.name} stands on ${kind.ellipsoid.name}, and ${frame} on GRS 1980`, {
        hint: 'a transformation to the datum of that ellipsoid, in project.yaml, and its frame in --from or --to',
      });
}

/** The point that is being worked on, and where it stands in the file. */
interface Place {
  i: number;
  readonly file?: string;
  readonly lines?: readonly number[];
}

function decode(
  kind: CoordinateKind,
  points: Float64Array,
  covariances: Float64Array | undefined,
  place: Place,
): void {
  const [first, second, third] = kind.angles;
  const inside = (value: number, angle: boolean): number => (angle ? radians(value) : value);
  for (let i = 0; 3 * i < points.length; i++) {
    place.i = i;
    checkAngles(kind, points, i);
    const at = kind.toGeocentric([
      inside(points[3 * i]!, first),
      inside(points[3 * i + 1]!, second),
      inside(points[3 * i + 2]!, third),
    ]);
    points[3 * i] = at.x;
    points[3 * i + 1] = at.y;
    points[3 * i + 2] = at.z;
    if (!covariances) continue;
    const covariance = covariances.subarray(6 * i, 6 * i + 6) as unknown as Symmetric3;
    const fault = covarianceFault(covariance, kind.covarianceNames);
    if (fault !== undefined) fail('GEODESY_COVARIANCE', `the covariance is not usable: ${fault}`);
    covariances.set(kind.toGeocentricCovariance(covariance, at), 6 * i);
  }
}

/** Said in degrees, since they were given in degrees. */
function checkAngles({ angles }: CoordinateKind, points: Float64Array, i: number): void {
  if (angles[0] && Math.abs(points[3 * i]!) > 90)
    fail('GEODESY_RANGE', `the latitude ${points[3 * i]} is beyond 90 degrees`, {
      hint: 'latitude before longitude, in degrees',
    });
  if (angles[1] && Math.abs(points[3 * i + 1]!) > 360)
    fail('GEODESY_RANGE', `the longitude ${points[3 * i + 1]} is beyond a turn`, { hint: 'degrees' });
}

function moveAll(
  mapAt: (epoch: number | undefined) => Affine,
  epochs: Float64Array | number | undefined,
  xyz: Float64Array,
  covariances: Float64Array | undefined,
  place: Place,
): void {
  place.i = 0;
  transformPoints(
    (epoch) => {
      // A map is made where its first point stands: an epoch that cannot be is said with that line.
      if (epochs instanceof Float64Array) place.i = epochs.indexOf(epoch!, place.i);
      return mapAt(epoch);
    },
    epochs,
    { xyz, ...(covariances ? { covariance: covariances } : {}) },
  );
}

function encode(
  kind: CoordinateKind,
  points: Float64Array,
  covariances: Float64Array | undefined,
  place: Place,
): void {
  for (let i = 0; 3 * i < points.length; i++) {
    place.i = i;
    const at = { x: points[3 * i]!, y: points[3 * i + 1]!, z: points[3 * i + 2]! };
    const triple = kind.fromGeocentric(at);
    if (!triple.every(Number.isFinite))
      fail('GEODESY_RANGE', 'the point has no finite coordinates of this kind');
    for (let k = 0; k < 3; k++) points[3 * i + k] = kind.angles[k] ? degrees(triple[k]!) : triple[k]!;
    if (!covariances) continue;
    const covariance = covariances.subarray(6 * i, 6 * i + 6) as unknown as Symmetric3;
    covariances.set(kind.fromGeocentricCovariance(covariance, at), 6 * i);
  }
}

/** Puts the line of the point that was worked on into the problems that are thrown. */
function inLine(place: Place, work: () => void): void {
  try {
    work();
  } catch (error) {
    const line = place.lines?.[place.i];
    if (!(error instanceof ProblemError) || place.file === undefined || line === undefined) throw error;
    const at = { file: place.file, line };
    throw new ProblemError(error.problems.map((p): Problem => ({ ...p, at: p.at ?? at })));
  }
}
