export { ReferenceContrast, type ContrastCoefficients, type WindowRange } from './contrast.ts';
export {
  along,
  componentsOf,
  displacement,
  movement,
  windowBands,
  type Movement,
  type WindowBands,
} from './movement.ts';
export { rateNoise, referenceNoise, type StationNoise } from './noise.ts';
export { epochFlag, judgeEpochs, type QualityReport } from './quality.ts';
export { readinessOf, repeatSeconds, type ReadinessTask, type TrackedDays } from './readiness.ts';
export {
  neededCompleteness,
  neededReferenceDays,
  referenceEvidence,
  type ReferenceEvidence,
} from './reference.ts';
export {
  analyseStation,
  prepare,
  type PreparedStation,
  type StationAnalysis,
  type StationTask,
  type StationWatch,
} from './station.ts';
export {
  daysOfYear,
  judgeMovements,
  judgeScalars,
  judgeTogether,
  judgeVelocities,
  rateUnitDays,
  type Judged,
  type JudgedVelocity,
} from './statements.ts';
export { knownStep } from './known-step.ts';
export { tieSteps, withoutSteps, type Step, type Tie } from './ties.ts';
export { type KnownStep } from './series-model.ts';
export { trajectoryOf, type Trajectory } from './trajectory.ts';
export {
  axes,
  perAxis,
  toTopocentricSeries,
  type Axis,
  type TopocentricSeries,
} from './topocentric-series.ts';
export { spacingOf, windowSolutions, windowsWithin, type Spacing, type WindowSeries } from './windows.ts';
export { judgeLines, sumOfWindows, watchPair, type LineTask, type Member, type Part } from './pairs.ts';
export { besideSeries } from './series.ts';
export { presentOf, type Present, type PresentTask } from './present.ts';
export { AppliedResponse } from './response/apply.ts';
export { covariateMeans, type Covariate } from './response/covariate.ts';
export { dailyWaves } from './response/daily-waves.ts';
export { fitResponse, type FittedResponse, type ResponseModel, type ResponseTask } from './response/fit.ts';
export { heightDependence, type HeightTask } from './response/height-dependence.ts';
export {
  responseWindows,
  stationResponse,
  type ResponseAnalysis,
  type ResponseSettings,
} from './response/station-response.ts';
export { commonMode, type CommonModeTask, type Seen } from './stability/common-mode.ts';
export { baseNetwork, type BaseNetwork, type BaseVector } from './stability/base-network.ts';
export {
  ontoStable,
  stabilityOf,
  stabilityPersistence,
  stabilitySignificance,
  type StabilityTask,
} from './stability/stability.ts';
export {
  evaluationsOf,
  stationFigure,
  watchSeries,
  type Evaluations,
  type WatchedFigure,
  type WatchedMeans,
  type WatchedSeries,
  type WatchTask,
} from './triggers/evaluate.ts';
export { Latches, reach, runMachine, sizeOn, type MachineTask, type Watched } from './triggers/machine.ts';
export { assumedNoise, type AssumedNoise } from './alarm-load/assumed.ts';
export { recommend, type NamedSetting } from './alarm-load/recommend.ts';
export { sharedVariance } from './alarm-load/shared.ts';
export {
  simulatedMonths,
  simulateLoad,
  type CandidateLoad,
  type LoadStation,
  type LoadTask,
} from './alarm-load/simulate.ts';
export { ReceiverTally, type ReceiverTask } from './tracking/receiver-tally.ts';
export { SkyTally, type SkyTask } from './tracking/sky-tally.ts';
export { arrivalsOf } from './health/arrivals.ts';
export { outagesOf, type Arrivals, type SharedThing } from './health/outages.ts';
export { receiverFigures, satellitesOf, type Spans } from './health/receiver-figures.ts';
export { supplyOf, type SupplyTask } from './health/supplies.ts';
export { suspicionsOf, type SuspicionTask } from './health/suspicions.ts';
export { timeFaultsOf } from './health/time-faults.ts';
export { chosenHours } from './tracking/chosen-hours.ts';
export { forget, type Remember } from './remember.ts';
export { plannedFigures, type PlannedFigures, type PlannedTask } from './planned.ts';
