export {
  commas,
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
  paragraph,
  plusMinus,
  semicolons,
  thin,
} from './numbers.ts';
export { checkText, readinessSentence, responseCheckText } from './readiness.ts';
export {
  againstSentence,
  correctedSentence,
  explainedSentence,
  lessHeadline,
  lessSentence,
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
  headlineSentences,
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
  quietOntoSentence,
  stabilitySentences,
} from './stability.ts';
export { dayOfYear, formatSpan, ZoneClock } from './times.ts';
export {
  changeAnchor,
  changeTitle,
  conditionWords,
  evaluationText,
  highestLevel,
  levelSize,
  levelsOf,
  levelText,
  logOf,
  madeText,
  quantityText,
  reachedSentences,
  ruleSentence,
  together,
  triggerStateText,
  unacknowledged,
  unreachedText,
  watchSentence,
  withoutBegins,
  type LogBegin,
  type LogEntry,
} from './triggers.ts';
export {
  delayText,
  falseAlarmText,
  loadBasisSentence,
  loadQuantity,
  loadSentences,
  messagesText,
  quietText,
  requirementSentence,
  settingText,
} from './alarm-load.ts';
export {
  closureSentences,
  commonSentence,
  surveySentence,
  untiedSentence,
  untiedStreams,
} from './evidence.ts';
export { accelerationSentence } from './acceleration.ts';
export {
  beside,
  causeText,
  dutyState,
  healthSentences,
  outageLength,
  roughSpan,
  supplySentence,
  suspicionSentence,
  timeFaultSentence,
} from './health.ts';
export {
  calendarDay,
  communicationSentence,
  displacementTestSentence,
  failureText,
  figuresSentence,
  placementSentences,
  powerSentence,
  processingSentence,
  skySentence,
  specificationSentence,
  startSentence,
  storageSentence,
  zoneRuleSentence,
} from './plan.ts';
export { benchLines, type BenchShown } from './bench.ts';
export { archiveAbout, archiveSentences, restoreSentences, type Archived, type Restored } from './archive.ts';
export { comparedText, compareSnapshots } from './comparison.ts';
export {
  comparisonHead,
  comparisonLimits,
  comparisonSections,
  type ComparisonSection,
} from './comparison-text.ts';
export {
  highestLevelText,
  publishedSentence,
  retentionSentence,
  leftOutSentence,
  releasedHeadline,
} from './published.ts';
export { standingsOf, transitionKey, transitionsBetween } from './transitions.ts';
export { machineGet, machineSentence } from './machine.ts';
