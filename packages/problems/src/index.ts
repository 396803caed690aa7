export { catalogue, type CatalogueEntry, type ProblemCode } from './catalogue.ts';
export {
  exitCode,
  fail,
  hasErrors,
  problem,
  ProblemError,
  warning,
  type Location,
  type Problem,
} from './problem.ts';
export { formatProblem, formatProblems, listAllowed, sortProblems, visible } from './terminal.ts';
