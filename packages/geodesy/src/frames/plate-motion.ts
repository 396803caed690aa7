import { fail } from '@stillmark/problems';
import type { Geocentric } from '../geocentric.ts';
import { checkEpoch, mas, type Affine } from './helmert.ts';
import table from './tables/plate-motion.json' with { type: 'json' };

export type PlateModel = keyof typeof table.models;

export const plateModels = Object.keys(table.models) as PlateModel[];

/** Plates of a model: code and name. */
export function platesOf(model: PlateModel): { code: string; name: string }[] {
  const names: Readonly<Record<string, string>> = table.plates;
  return Object.keys(table.models[model].poles_mas).map((code) => ({ code, name: names[code]! }));
}

/** Where the poles of a model were published. */
export function sourceOf(model: PlateModel): string {
  return table.models[model].source;
}

/**
 * Angular velocity of a plate, radians a year about the geocentric axes.
 *
 * @throws GEODESY_FRAME for a plate that the model does not have
 */
export function plateRotation(model: PlateModel, plate: string): readonly [number, number, number] {
  const poles: Readonly<Record<string, number[] | undefined>> = table.models[model].poles_mas;
  const pole = poles[plate];
  if (!pole)
    return fail('GEODESY_FRAME', `the plate motion model of ${model} has no plate '${plate}'`, {
      allowed: Object.keys(poles),
    });
  return [pole[0]! * mas, pole[1]! * mas, pole[2]! * mas];
}

/**
 * Velocity of a point on a rigid plate, v = omega x X, metres a year in geocentric axes. The origin rate bias of the model is not
 * added: it belongs to the frame, and differences of positions do not see it.
 *
 * Source: Altamimi et al. (2017), Geophysical Journal International 209, 1906-1912, equation 1.
 */
export function plateVelocity(model: PlateModel, plate: string, { x, y, z }: Geocentric): Geocentric {
  const [wx, wy, wz] = plateRotation(model, plate);
  return { x: wy * z - wz * y, y: wz * x - wx * z, z: wx * y - wy * x };
}

/**
 * The map that takes a position observed at `epoch` back to where it stood on its plate at `reference`:
 * X(t0) = X(t) - (t - t0) omega x X(t), to first order, as plates are linear in time.
 *
 * @param epoch decimal years, like `reference`
 * @throws GEODESY_EPOCH, GEODESY_FRAME
 */
export function toPlateEpoch(model: PlateModel, plate: string, epoch: number, reference: number): Affine {
  checkEpoch(epoch);
  checkEpoch(reference);
  const [wx, wy, wz] = plateRotation(model, plate).map((w) => w * (reference - epoch)) as [
    number,
    number,
    number,
  ];
  return { t: [0, 0, 0], s: [0, -wz, wy, wz, 0, -wx, -wy, wx, 0] };
}
