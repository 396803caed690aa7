import FFT from 'fft.js';
import { powerLawResponse } from './flicker.ts';

/** Makes power-law noise of white noise, many series of one length: T w with the impulse response of {@link powerLawResponse}. */
export class PowerLawFilter {
  readonly #n: number;
  readonly #fft: FFT;
  readonly #response: Float64Array;
  readonly #input: Float64Array;
  readonly #spectrum: Float64Array;

  /** @param d half of the spectral index, with the other sign: 1/2 for flicker noise */
  constructor(n: number, d: number) {
    this.#n = n;
    // Twice as long, so that the end does not run into the beginning.
    const size = 2 ** Math.max(2, Math.ceil(Math.log2(2 * n)));
    this.#fft = new FFT(size);
    this.#input = new Float64Array(2 * size);
    this.#spectrum = new Float64Array(2 * size);
    this.#response = new Float64Array(2 * size);
    powerLawResponse(n, d).forEach((v, i) => (this.#input[2 * i] = v));
    this.#fft.transform(this.#response, this.#input);
  }

  /** Two series at once, as the real and the imaginary part of one: the filter is real. */
  apply(a: Float64Array, b: Float64Array): [Float64Array, Float64Array] {
    const [x, s, h] = [this.#input, this.#spectrum, this.#response];
    x.fill(0);
    for (let i = 0; i < this.#n; i++) {
      x[2 * i] = a[i]!;
      x[2 * i + 1] = b[i]!;
    }
    this.#fft.transform(s, x);
    for (let i = 0; i < s.length; i += 2) {
      const [re, im] = [s[i]!, s[i + 1]!];
      s[i] = re * h[i]! - im * h[i + 1]!;
      s[i + 1] = re * h[i + 1]! + im * h[i]!;
    }
    this.#fft.inverseTransform(x, s);
    return [
      Float64Array.from({ length: this.#n }, (_, i) => x[2 * i]!),
      Float64Array.from({ length: this.#n }, (_, i) => x[2 * i + 1]!),
    ];
  }
}
