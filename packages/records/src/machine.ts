/** What a machine and a project folder are looked at for. */
export type MachinePart =
  | 'node'
  | 'memory'
  | 'threads'
  | 'engine'
  | 'zones'
  | 'chromium'
  | 'clock'
  | 'project'
  | 'right'
  | 'disk'
  | 'store';

/** One thing that is fine, or missing; `optional` where the main job goes on without it. */
export interface MachineFinding {
  readonly part: MachinePart;
  readonly state: 'fine' | 'missing' | 'optional';
  /** What was found: a version, a size, a path, or why it is missing. */
  readonly found: string;
}
