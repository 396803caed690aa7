/**
 * p-values adjusted for being tested together, in the order given: a figure is called moved at family-wise level
 * alpha where its adjusted p is at most alpha. Source: Holm (1979), Scandinavian Journal of Statistics 6, 65-70.
 */
export function holmAdjust(p: readonly number[]): number[] {
  const order = p.map((_, i) => i).sort((a, b) => p[a]! - p[b]! || a - b);
  const adjusted = new Array<number>(p.length);
  let running = 0;
  order.forEach((index, rank) => {
    running = Math.max(running, Math.min(1, (p.length - rank) * p[index]!));
    adjusted[index] = running;
  });
  return adjusted;
}
