import { fail, ProblemError } from '@stillmark/problems';
import {
  atEpoch,
  compose,
  dependsOnTime,
  identity,
  inverse,
  type Affine,
  type HelmertParameters,
} from './helmert.ts';
import etrf from './tables/etrf.json' with { type: 'json' };
import itrf2000 from './tables/itrf2000.json' with { type: 'json' };
import itrf2008 from './tables/itrf2008.json' with { type: 'json' };
import itrf2014 from './tables/itrf2014.json' with { type: 'json' };
import itrf2020 from './tables/itrf2020.json' with { type: 'json' };
import others from './tables/others.json' with { type: 'json' };

/** One published or given transformation between two frames. */
export interface FrameLink extends HelmertParameters {
  readonly from: string;
  readonly to: string;
  /** Code in the EPSG Dataset, where the link stands there. */
  readonly epsg?: number;
  readonly source: string;
}

/** Tables in order of preference: of two ways that are equally long, the one by the newer frame is taken. */
const tables = [itrf2020, itrf2014, itrf2008, itrf2000, etrf, others];

export const publishedLinks: readonly FrameLink[] = tables.flatMap(({ source, transformations }) =>
  (transformations as unknown as Omit<FrameLink, 'source'>[]).map((link) => ({ ...link, source })),
);

const publishedFrames = new Set(publishedLinks.flatMap(({ from, to }) => [from, to]));

/** Whether a frame stands in the published tables: those all stand on GRS 1980; one of a project's own has a datum of its own. */
export function isPublishedFrame(name: string): boolean {
  return publishedFrames.has(name);
}

/** A link, and whether it is gone backward. */
export interface Step {
  readonly link: FrameLink;
  readonly backward: boolean;
}

/** A way from one frame to another, by published steps; its map depends on the epoch of the coordinates. */
export class FramePath {
  readonly from: string;
  readonly to: string;
  readonly steps: readonly Step[];

  constructor(from: string, to: string, steps: readonly Step[]) {
    this.from = from;
    this.to = to;
    this.steps = steps;
  }

  /** True where the way leads through parameters that change with time, or hold at one epoch only. */
  get needsEpoch(): boolean {
    return this.steps.some(({ link }) => dependsOnTime(link));
  }

  /**
   * The map of coordinates of an epoch.
   *
   * @param epoch decimal year; may be absent where no step has rates
   * @throws GEODESY_EPOCH where an epoch is needed and missing
   */
  at(epoch: number | undefined): Affine {
    return this.steps.reduce((map, { link, backward }) => {
      const step = at(link, epoch);
      return compose(map, backward ? inverse(step) : step);
    }, identity);
  }
}

/** @throws GEODESY_EPOCH as {@link atEpoch}, with the names of the frames */
function at(link: FrameLink, epoch: number | undefined): Affine {
  try {
    return atEpoch(link, epoch);
  } catch (error) {
    if (!(error instanceof ProblemError)) throw error;
    const { code, message, ...more } = error.problems[0]!;
    return fail(code, `${link.from} to ${link.to}: ${message}`, more);
  }
}

/** Frames and the transformations between them: the published ones, and those that a project gives. */
export class FrameRegistry {
  readonly #links: readonly FrameLink[];

  constructor(given: readonly FrameLink[] = []) {
    this.#links = [...given, ...publishedLinks];
  }

  get frames(): string[] {
    return [...new Set(this.#links.flatMap(({ from, to }) => [from, to]))].sort();
  }

  /**
   * The shortest way between two frames.
   *
   * @throws GEODESY_FRAME for a frame that is not known, or where no way leads from one to the other
   */
  path(from: string, to: string): FramePath {
    for (const name of [from, to]) {
      if (!this.frames.includes(name))
        fail('GEODESY_FRAME', `the frame '${name}' is not known`, { allowed: this.frames });
    }
    // Breadth first, in the order of the tables.
    const reached = new Map<string, Step[]>([[from, []]]);
    for (const [frame, steps] of reached) {
      if (frame === to) return new FramePath(from, to, steps);
      for (const link of this.#links) {
        for (const [here, there, backward] of [
          [link.from, link.to, false],
          [link.to, link.from, true],
        ] as const) {
          if (here === frame && !reached.has(there)) reached.set(there, [...steps, { link, backward }]);
        }
      }
    }
    return fail('GEODESY_FRAME', `no published transformation leads from ${from} to ${to}`, {
      allowed: [...reached.keys()].sort(),
    });
  }
}
