export { placeLabels, type Box, type LabelTask, type PlacedLabel } from './labels.ts';
export { networkMap, type MapStation, type MapTask } from './network-map.ts';
export { timeTicks, type Zone } from './time-axis.ts';
export { timeline, type TimelineTask } from './timeline.ts';
