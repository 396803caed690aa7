export {
  count,
  decimalsFor,
  formatAzimuth,
  formatNumber,
  formatP,
  formatPercent,
  formatSize,
  formatToMatch,
  formatWithUncertainty,
  list,
  thin,
} from './numbers.ts';
export {
  headlineSentence,
  inCases,
  networkSentences,
  stateOf,
  stateWords,
  stationSentence,
  type StationState,
} from './sentences.ts';
export { formatSpan, ZoneClock } from './times.ts';
