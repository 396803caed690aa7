import { translated } from './catalogue.ts';

/** Names of axes, where figures and tables are headed by them: `east`, `up`. */
export const axisNames = translated(
  {
    horizontal: 'horizontal',
    east: 'east',
    north: 'north',
    up: 'up',
    longitudinal: 'longitudinal',
    transverse: 'transverse',
  },
  'axis',
);
