export {
  benchTest,
  sameDeviation,
  type BenchMeasurement,
  type BenchResult,
  type BenchTask,
} from './bench.ts';
export {
  askedOfMovement,
  ellipseOverInterval,
  precisionBudget,
  specificationMargin,
  type HalfWidths,
  type SpecifiedPrecision,
} from './budget.ts';
export {
  baseGeometry,
  effectOf,
  type BaseGeometry,
  type FailureEffect,
  type PlannedStation,
} from './geometry.ts';
export { Horizon, type HorizonPoint } from './horizon.ts';
export { arrayMargin, daysOfAutonomy, powerPlan, type PowerPlan, type PowerTask } from './power.ts';
export { scheduleOf, type Order, type Schedule, type ScheduleTask } from './schedule.ts';
export { skyPlan, skyTable, skyTracks, type SkyPlan, type SkyTable, type SkyPlanTask } from './sky-plan.ts';
export {
  clearance,
  clearanceOfAll,
  drawReach,
  selfCrossing,
  troughReach,
  type PlanPoint,
  type Trough,
} from './zone.ts';
