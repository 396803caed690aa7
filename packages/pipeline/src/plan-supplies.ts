import { arrayMargin, daysOfAutonomy, powerPlan } from '@stillmark/planning';
import type { Project } from '@stillmark/project';
import { dayMs, type PlanRecord } from '@stillmark/records';

type Plan = NonNullable<Project['plan']>;

/** What the network lives on as planned: power, data, room for what is written, time for processing. */
export function suppliesOf(
  project: Project,
): Pick<PlanRecord, 'power' | 'communications' | 'storage' | 'processing'> {
  const { plan, shared, stations } = project;
  const servedBy = (of: string): number => shared.find(({ name }) => name === of)?.stations.length ?? 1;
  const run = plan?.processing;
  return {
    power: (plan?.power ?? []).map(powerOf),
    communications: (plan?.communications ?? []).map(({ of, perStation, plan: plan_MB }) => {
      const served = servedBy(of);
      return { of, stations: served, needed_MB: 30 * perStation * served, plan_MB };
    }),
    storage: (plan?.storage ?? []).map(({ of, perStation, free, keep }) => {
      const served = servedBy(of);
      const daily = perStation * served;
      return {
        of,
        stations: served,
        daily_MB: daily,
        free_MB: free,
        days: free / daily,
        keepDays: keep / dayMs,
      };
    }),
    ...(run
      ? {
          processing: {
            intervalMs: project.processingInterval,
            // Each station is processed by itself: the time of a run grows with their number (common practice, no source).
            runMs: run.stations === undefined ? run.runTime : (run.runTime * stations.length) / run.stations,
            stations: stations.length,
            ...(run.stations === undefined || run.stations === stations.length
              ? {}
              : { measuredWith: run.stations }),
          },
        }
      : {}),
  };
}

function powerOf({
  of,
  load,
  sunHours,
  autonomy,
  voltage,
  depthOfDischarge,
  coldFactor,
  arrayFactor,
  efficiency,
  installed,
}: Plan['power'][number]): PlanRecord['power'][number] {
  const task = {
    load,
    sunHours,
    autonomyDays: autonomy / dayMs,
    depthOfDischarge,
    voltage,
    coldFactor,
    arrayFactor,
    chargeEfficiency: efficiency,
  };
  return {
    of,
    load_W: load,
    sunHours,
    autonomyDays: task.autonomyDays,
    voltage,
    ...powerPlan(task),
    ...(installed
      ? {
          installed: {
            array_W: installed.array,
            battery_Ah: installed.battery,
            arrayMargin: arrayMargin(task, installed.array),
            autonomyDays: daysOfAutonomy(task, installed.battery),
          },
        }
      : {}),
  };
}
