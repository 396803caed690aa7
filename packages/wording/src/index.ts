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
  plusMinus,
  thin,
} from './numbers.ts';
export { checkText, readinessSentence, responseCheckText } from './readiness.ts';
export {
  againstSentence,
  correctedSentence,
  heightSentence,
  responseSentences,
  waveText,
} from './response.ts';
export {
  baseOf,
  changeSentence,
  chanceSentence,
  disagreementSentence,
  doubtedBases,
  headlineSentence,
  isMoving,
  networkSentences,
  rateSentence,
  seenText,
  siteSentence,
  stateIn,
  stateOf,
  stateWords,
  stationSentence,
  stillSentence,
  tieSentence,
  velocitySentence,
  viewIn,
  type StationState,
} from './sentences.ts';
export { inCases } from './phrases.ts';
export {
  decisionOn,
  decisionSentence,
  doubtedSentence,
  ontoSentence,
  stabilitySentences,
} from './stability.ts';
export { dayOfYear, formatSpan, ZoneClock } from './times.ts';
