// What this room uses of fft.js, which has no types of its own.
declare module 'fft.js' {
  export default class FFT {
    /** @param size a power of two */
    constructor(size: number);
    /** Complex in pairs, both of them. */
    transform(out: number[] | Float64Array, data: number[] | Float64Array): void;
    inverseTransform(out: number[] | Float64Array, data: number[] | Float64Array): void;
  }
}
