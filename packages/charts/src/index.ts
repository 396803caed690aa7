export { hoursStrip, type HoursTask } from './hours-strip.ts';
export { placeLabels, type Box, type LabelTask, type PlacedLabel } from './labels.ts';
export type { MapBackground, MapImage, MapLayer } from './map-background.ts';
export type { MapMovement, MapStation } from './map-signs.ts';
export { networkMap, type MapOutline, type MapTask } from './network-map.ts';
export { timeTicks, type Zone } from './time-axis.ts';
export { planScatter, type ScatterTask } from './plan-scatter.ts';
export type { SensorTask } from './sensor-strip.ts';
export {
  timeline,
  timelineMargin,
  timelineRanges,
  type AxisRange,
  type TimelineAxis,
  type TimelineTask,
} from './timeline.ts';
export { settling, type SettlingTask } from './settling.ts';
export { spectrum, type SpectrumMark, type SpectrumTask } from './spectrum.ts';
export { baseLines, type BaseLinesTask } from './base-lines.ts';
export { stateStrips, type StateSpan, type StateStripsTask } from './state-strips.ts';
export { tradeOff, type TradeOffPoint, type TradeOffTask } from './trade-off.ts';
export { arrivalStrips, type ArrivalStripsTask } from './arrival-strips.ts';
export { skyDay, type SkyDayTask } from './sky-day.ts';
export { skyPlot, type SkyPlotTask } from './sky-plot.ts';
export { smallTimeline, type SmallTimelineTask } from './small-timeline.ts';
export { profile, type ProfileLine, type ProfileTask } from './profile.ts';
export { logScatter, type LogScatterTask } from './log-scatter.ts';
