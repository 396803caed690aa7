import { flickerD, PowerLawFilter } from '@stillmark/estimation';
import { uniformFloat64 } from 'pure-rand/distribution/uniformFloat64';
import { xoroshiro128plus } from 'pure-rand/generator/xoroshiro128plus';

/** A run of unit white noise and of unit flicker noise. */
export interface UnitPath {
  readonly white: Float64Array;
  readonly flicker: Float64Array;
}

/**
 * Seeded runs of unit noise, the same for every candidate and every question: they then differ by what they are and not by chance.
 *
 * Normal numbers by Box and Muller (1958), Annals of Mathematical Statistics 29, 610-611; flicker noise is white noise integrated by half
 * (Hosking 1981), as the covariance of `ReferenceContrast` has it.
 */
export class UnitPaths {
  readonly #n: number;
  readonly #filter: PowerLawFilter;

  constructor(n: number) {
    this.#n = n;
    this.#filter = new PowerLawFilter(n, flickerD);
  }

  /** @param runs an even number */
  of(seed: number, runs: number): UnitPath[] {
    const normal = normals(seed);
    const column = (): Float64Array => Float64Array.from({ length: this.#n }, normal);
    return Array.from({ length: runs / 2 }, () => {
      const [a, b] = this.#filter.apply(column(), column());
      return [
        { white: column(), flicker: a },
        { white: column(), flicker: b },
      ];
    }).flat();
  }
}

function normals(seed: number): () => number {
  const rng = xoroshiro128plus(seed);
  // The first numbers of neighbouring seeds are alike.
  for (let k = 0; k < 32; k++) rng.next();
  let kept = Number.NaN;
  return () => {
    if (!Number.isNaN(kept)) {
      const value = kept;
      kept = Number.NaN;
      return value;
    }
    const r = Math.sqrt(-2 * Math.log(1 - uniformFloat64(rng)));
    const angle = 2 * Math.PI * uniformFloat64(rng);
    kept = r * Math.sin(angle);
    return r * Math.cos(angle);
  };
}
