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
  rateSentence,
  stateOf,
  stateWords,
  stationSentence,
  stillSentence,
  tieSentence,
  viewIn,
  type StationState,
} from './sentences.ts';
export { formatSpan, ZoneClock } from './times.ts';
