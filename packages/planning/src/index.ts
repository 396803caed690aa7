export { precisionBudget, type SpecifiedPrecision } from './budget.ts';
