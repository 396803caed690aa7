export { hoursStrip, type HoursTask } from './hours-strip.ts';
export { placeLabels, type Box, type LabelTask, type PlacedLabel } from './labels.ts';
export { networkMap, type MapOutline, type MapStation, type MapTask } from './network-map.ts';
export { timeTicks, type Zone } from './time-axis.ts';
export { planScatter, type ScatterTask } from './plan-scatter.ts';
export type { SensorTask } from './sensor-strip.ts';
export { timeline, type TimelineAxis, type TimelineTask } from './timeline.ts';
export { settling, type SettlingTask } from './settling.ts';
export { spectrum, type SpectrumMark, type SpectrumTask } from './spectrum.ts';
