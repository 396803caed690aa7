const dayMs = 86_400_000;

export interface Order {
  readonly what: string;
  /** When it was or will be ordered, milliseconds of UTC, and how long it takes. */
  readonly orderedMs: number;
  readonly leadMs: number;
  /** When it came, where it has. */
  readonly receivedMs?: number;
}

export interface ScheduleTask {
  readonly orders: readonly Order[];
  readonly installation: { readonly fromMs: number; readonly toMs: number };
  /** Length of the reference period. */
  readonly referenceMs: number;
  /** When the first displacement is wanted. */
  readonly startMs: number;
  /** The time at which this is asked: what was due before and has not come comes then at the earliest. */
  readonly nowMs: number;
}

export interface Schedule {
  /** When everything that was ordered is there. */
  readonly readyMs: number;
  /** What comes last, where it comes after the installation begins. */
  readonly late?: string;
  /** End of the reference period at the earliest, and how much room there is until the start; negative where there is none. */
  readonly earliestMs: number;
  readonly roomMs: number;
}

/** Whether the reference period can be over when the first displacement is wanted: it begins when all is there and installed. */
export function scheduleOf({ orders, installation, referenceMs, startMs, nowMs }: ScheduleTask): Schedule {
  const arrival = ({ orderedMs, leadMs, receivedMs }: Order): number =>
    receivedMs ?? Math.max(orderedMs + leadMs, nowMs);
  const last = orders.reduce<Order | undefined>((a, b) => (a && arrival(a) >= arrival(b) ? a : b), undefined);
  const readyMs = last ? arrival(last) : installation.fromMs;
  // The installation takes as long as planned, its last day among it, from when it can begin.
  const length = installation.toMs - installation.fromMs + dayMs;
  const installedMs = Math.max(installation.fromMs, readyMs) + length;
  const earliestMs = installedMs + referenceMs;
  return {
    readyMs,
    ...(last && readyMs > installation.fromMs ? { late: last.what } : {}),
    earliestMs,
    roomMs: startMs - earliestMs,
  };
}
