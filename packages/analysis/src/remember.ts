/**
 * Gives what was computed from the same inputs before, or computes it. What is remembered must be a function of the inputs alone: with
 * and without memory the result is the same to the last bit.
 *
 * @param name of the computation
 * @param inputs everything that it depends on; plain data
 */
export type Remember = <T>(name: string, inputs: readonly unknown[], compute: () => T) => T;

/** Remembers nothing. */
export const forget: Remember = (_name, _inputs, compute) => compute();
