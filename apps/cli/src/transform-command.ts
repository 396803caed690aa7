import {
  transform,
  type Effects,
  type StepTaken,
  type TransformResult,
  type TransformTask,
} from '@stillmark/pipeline';
import { fail } from '@stillmark/problems';
import { dirname } from 'node:path';
import type { Command } from 'commander';
import { numbersOption, plateOption, wholeOption, yearOption } from './options.ts';

type Named = 'input' | 'output' | 'from' | 'to' | 'epoch' | 'toEpoch' | 'plate' | 'project';

/** As commander gives them: what has the name of a task's part is that part. */
export interface TransformOptions extends Pick<TransformTask, Named> {
  readonly point?: readonly number[];
  readonly covariance?: readonly number[];
  readonly origin?: readonly number[];
  readonly decimals: number;
  readonly out?: string;
  readonly json?: boolean;
}

export const transformDetails = `Kinds of coordinates (--input, --output):
  geocentric         columns x, y, z; covariance xx, xy, xz, yy, yz, zz
  geodetic           latitude, longitude (degrees), height; on GRS 1980, or
                     as geodetic:Airy 1830 on another ellipsoid
  topocentric        east, north, up of --origin
  EPSG:25832         easting, northing, height of a map, or its PROJ string
  map, site          of the project in --project; the site has siteX, siteY

A file is CSV with a header line. It may have a covariance in square metres
along the axes of its coordinates (ee, en, eu, nn, nu, uu but for geocentric
ones), and an epoch (decimal year) or a time; other columns are carried along.
Heights are above the ellipsoid. A frame is a name such as ITRF2020, ETRF2000
or GDA2020, or one of the transformations of the project. All points are
transformed, or none.`;

export function addTransformOptions(command: Command): Command {
  return command
    .argument('[file]', 'CSV file of points')
    .option('--point <a,b,c>', 'one point instead of a file', numbersOption(3))
    .option('--covariance <six>', 'of that point: six numbers, square metres', numbersOption(6))
    .option('--input <kind>', 'kind of the coordinates', 'geocentric')
    .option('--output <kind>', 'kind to turn them into', 'geocentric')
    .option('--from <frame>', 'frame they are in')
    .option('--to <frame>', 'frame to bring them to')
    .option('--epoch <year>', 'epoch of the coordinates, decimal year', yearOption)
    .option('--to-epoch <year>', 'epoch to move them to with their plate', yearOption)
    .option('--plate <model:plate>', 'plate motion, such as ITRF2020:EURA', plateOption)
    .option('--origin <lat,lon,height>', 'origin of topocentric axes, degrees and metres', numbersOption(3))
    .option('--project <dir>', 'project folder, for its transformations and its map')
    .option('--decimals <n>', 'decimals of metres; degrees get five more', wholeOption(0, 9), 4)
    .option('--out <file>', 'file to write instead of the terminal');
}

/** What the command prints, writes and gives as data. Only coordinates go to standard output; the steps to `err`. */
export async function transformWork(
  file: string | undefined,
  o: TransformOptions,
  effects: Effects,
  err: (text: string) => void,
): Promise<{ lines: string[]; data: object }> {
  const out = o.out === undefined ? undefined : await writable(o.out, effects);
  const result = await transform(transformTask(file, o), effects);
  const data = { steps: result.steps, points: o.json ? pointsData(result, o.toEpoch) : [] };
  // Data have names of their own; only the file's columns can clash with the result's.
  if (o.json && out === undefined) return { lines: [], data };
  const text = result.given
    ? pointsCsv(result, o.decimals, o.toEpoch)
    : `${pointLines(result, o.decimals).join('\n')}\n`;
  const steps = result.steps.map(stepLine);
  if (out !== undefined) {
    await effects.files.write(out, text);
    return { lines: [...steps, `written to ${o.out}`], data: { ...data, out: o.out } };
  }
  for (const step of steps) err(`${step}\n`);
  return { lines: [text.replace(/\n$/, '')], data };
}

/**
 * The file to write: where a link leads, so that the link stays.
 *
 * @throws USE_OPTION for what is no place for a file
 */
async function writable(path: string, { files }: Effects): Promise<string> {
  const refuse = (why: string): never =>
    fail('USE_OPTION', `--out '${path}' ${why}`, { hint: 'a file in a folder that exists' });
  if (path === '' || /[/\\]$/.test(path)) return refuse('is no name of a file');
  const target = await files.resolve(path);
  const kind = await files.kind(target);
  if (kind === 'folder') return refuse('is a folder');
  if (kind === 'device') return refuse('is no file');
  if ((await files.kind(dirname(target))) !== 'folder') return refuse('lies in a folder that does not exist');
  return target;
}

function transformTask(file: string | undefined, o: TransformOptions): TransformTask {
  return {
    input: o.input,
    output: o.output,
    ...(file === undefined ? {} : { file }),
    ...(o.point ? { point: o.point as unknown as NonNullable<TransformTask['point']> } : {}),
    ...(o.covariance
      ? { covariance: o.covariance as unknown as NonNullable<TransformTask['covariance']> }
      : {}),
    ...(o.from === undefined ? {} : { from: o.from }),
    ...(o.to === undefined ? {} : { to: o.to }),
    ...(o.epoch === undefined ? {} : { epoch: o.epoch }),
    ...(o.toEpoch === undefined ? {} : { toEpoch: o.toEpoch }),
    ...(o.plate === undefined ? {} : { plate: o.plate }),
    ...(o.origin ? { origin: o.origin as unknown as [number, number, number] } : {}),
    ...(o.project === undefined ? {} : { project: o.project }),
  };
}

/** How a step came about, in a line. */
function stepLine({ from, to, inverse, epsg, source }: StepTaken): string {
  const code = epsg === undefined ? '' : `, EPSG ${epsg}`;
  return `${from} to ${to}${inverse ? ' (inverse)' : ''}${code}: ${source}`;
}

/** One point as lines of name, value and unit. */
function pointLines(result: TransformResult, decimals: number): string[] {
  const { output, covariances } = result;
  const lines = output.names.map((name, k) => {
    const text = coordinateText(result, 0, k, decimals);
    return `${name.padEnd(10)} ${text.padStart(16)} ${output.units[k]}`;
  });
  if (covariances)
    output.covarianceNames.forEach((name, k) =>
      lines.push(`${name.padEnd(10)} ${covarianceText(covariances[k]!).padStart(16)} m2`),
    );
  return lines;
}

/** The file again: the new coordinates where the old ones stood, everything else as it was. */
function pointsCsv(result: TransformResult, decimals: number, toEpoch: number | undefined): string {
  const { output, given, covariances } = result;
  const { header, fields, at, covarianceAt, epochs } = given!;
  const first = Math.min(...at);
  const firstCovariance = covarianceAt ? Math.min(...covarianceAt) : -1;
  const dropped = new Set([...at, ...(covarianceAt ?? [])]);
  const used = new Set([...dropped, ...(toEpoch !== undefined && epochs ? [epochs.at] : [])]);
  const clash = header.find(
    (name, column) =>
      !used.has(column) &&
      [...output.names, ...(covariances ? output.covarianceNames : [])].some(
        (ours) => ours.toLowerCase() === name.toLowerCase(),
      ),
  );
  if (clash !== undefined)
    fail('USE_OPTION', `the file has a column ${clash} of its own, and the result has one too`, {
      hint: 'another name for the column of the file',
    });
  const moved = toEpoch !== undefined && epochs ? epochs.at : -1;
  const line = (i: number): string => {
    const out: string[] = [];
    const row = i < 0 ? header : fields[i]!;
    for (let column = 0; column < header.length; column++) {
      if (column === first)
        for (let k = 0; k < 3; k++)
          out.push(i < 0 ? output.names[k]! : coordinateText(result, i, k, decimals));
      else if (column === firstCovariance)
        for (let k = 0; k < 6; k++)
          out.push(i < 0 ? output.covarianceNames[k]! : covarianceText(covariances![6 * i + k]!));
      else if (column === moved) out.push(i < 0 ? 'epoch' : String(toEpoch));
      else if (!dropped.has(column)) out.push(csvField(row[column]!));
    }
    return `${out.join(',')}\n`;
  };
  let text = '';
  for (let i = -1; i < fields.length; i++) text += line(i);
  return text;
}

/** Points as data for --json; what a file held beside is carried along as text, under `given`. */
function pointsData(result: TransformResult, toEpoch: number | undefined): object[] {
  const { output, coordinates, covariances, given } = result;
  const dropped = new Set([...(given?.at ?? []), ...(given?.covarianceAt ?? [])]);
  if (toEpoch !== undefined && given?.epochs) dropped.add(given.epochs.at);
  return Array.from({ length: coordinates.length / 3 }, (_, i) => ({
    ...(given
      ? {
          given: Object.fromEntries(
            given.header.flatMap((name, column) =>
              dropped.has(column) ? [] : [[name, given.fields[i]![column]!] as const],
            ),
          ),
        }
      : {}),
    ...Object.fromEntries(output.names.map((name, k) => [name, coordinates[3 * i + k]! + 0])),
    ...(toEpoch === undefined ? {} : { epoch: toEpoch }),
    ...(covariances
      ? {
          covariance_m2: Object.fromEntries(
            output.covarianceNames.map((name, k) => [name, covariances[6 * i + k]!]),
          ),
        }
      : {}),
  }));
}

function coordinateText(
  { output, coordinates }: TransformResult,
  i: number,
  k: number,
  decimals: number,
): string {
  const text = coordinates[3 * i + k]!.toFixed(output.angles[k] ? decimals + 5 : decimals);
  // What rounds to zero has no sign.
  return /^-0\.?0*$/.test(text) ? text.slice(1) : text;
}

/** Eight digits: covariances are never known better. */
function covarianceText(value: number): string {
  return String(Number(value.toPrecision(8)));
}

/** A field of CSV (RFC 4180), quoted where it must be. */
function csvField(text: string): string {
  return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}
