/** What hangs on a battery and an array of solar cells. */
export interface PowerTask {
  /** Mean load, watts. */
  readonly load: number;
  /** Sun of the worst month on the plane of the array: kWh/m^2 a day, which is hours of full sun. */
  readonly sunHours: number;
  /** Days without sun that the battery must last. */
  readonly autonomyDays: number;
  /** Part of the battery that may be taken out of it. */
  readonly depthOfDischarge: number;
  /** Volts. */
  readonly voltage: number;
  /** What cold leaves of the capacity of the battery, and dirt, heat and wiring of the yield of the array. */
  readonly coldFactor: number;
  readonly arrayFactor: number;
  /** What is lost between array, battery and load. */
  readonly chargeEfficiency: number;
}

/** Energy a day in Wh, and what it takes: watts of array at full sun, ampere-hours of battery. */
export interface PowerPlan {
  readonly energy_Wh: number;
  readonly array_W: number;
  readonly battery_Ah: number;
}

/**
 * Array and battery by the balance of the worst month: array = energy / (sun x yield x efficiency), battery = energy x autonomy / (voltage x
 * depth of discharge x what cold leaves) (common practice, no source; IEEE 1013 and IEEE 1562 size in the same way, from memory).
 */
export function powerPlan(task: PowerTask): PowerPlan {
  const energy = 24 * task.load;
  return {
    energy_Wh: energy,
    array_W: energy / (task.sunHours * task.arrayFactor * task.chargeEfficiency),
    battery_Ah: (energy * task.autonomyDays) / (task.voltage * task.depthOfDischarge * task.coldFactor),
  };
}

/** Days that an installed battery lasts without sun. */
export function daysOfAutonomy(task: Omit<PowerTask, 'autonomyDays'>, battery_Ah: number): number {
  return (battery_Ah * task.voltage * task.depthOfDischarge * task.coldFactor) / (24 * task.load);
}

/** Energy that an installed array yields on a day of the worst month, as a multiple of what is used. */
export function arrayMargin(task: PowerTask, array_W: number): number {
  return array_W / powerPlan(task).array_W;
}
