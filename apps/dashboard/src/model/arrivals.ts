import { arrivalStrips } from '@stillmark/charts';
import { t } from '@stillmark/words';
import type { Page } from './page.ts';

/** The days of every station, of its first stream. */
export function drawArrivals({ snapshot, clock }: Page, size: 'wide' | 'narrow'): string {
  const rows = snapshot.health.stations.flatMap(({ station, streams }) => {
    const first = streams[0];
    const data = snapshot.stations.find(({ id }) => id === station);
    const begun = [data, ...(data?.others ?? [])].find((v) => v?.stream?.name === first?.stream)?.data?.first;
    if (!first || begun === undefined) return [];
    const firstMs = Date.parse(first.firstDay);
    return [
      {
        name: station,
        firstMs,
        days: first.days.map((share, k) =>
          share === null || Date.parse(begun) >= firstMs + (k + 1) * 86_400_000 ? undefined : share,
        ),
      },
    ];
  });
  return arrivalStrips({
    id: `arrivals-${size}`,
    width: size === 'wide' ? 880 : 360,
    title: t`Days on which positions came`,
    description: t`A row for each station, a box for each day; the table below has the figures.`,
    firstMs: rows[0]?.firstMs ?? 0,
    rows,
    zone: clock,
  });
}
