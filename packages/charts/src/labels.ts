export interface Box {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
}

export interface LabelTask {
  readonly id: string;
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
  /** Distance from the point to the nearest edge of the label. */
  readonly clearance: number;
}

export interface PlacedLabel extends Box {
  readonly id: string;
  /** True where the label stands away from its point, so that a line must lead to it. */
  readonly led: boolean;
}

/** Directions in order of preference, as on maps: right, left, above, below, then the diagonals. */
const directions = [
  [1, 0],
  [-1, 0],
  [0, -1],
  [0, 1],
  [1, -1],
  [-1, -1],
  [1, 1],
  [-1, 1],
] as const;

/**
 * Places labels beside their points so that none covers an obstacle, another label or the edge.
 *
 * Greedy: each label takes the first free place around its point, then around larger rings, where a line leads to it. Of
 * places that are all taken, the one with the least overlap.
 */
export function placeLabels(
  tasks: readonly LabelTask[],
  obstacles: readonly Box[],
  frame: Box,
): PlacedLabel[] {
  const taken: Box[] = [...obstacles];
  return tasks.map((task) => {
    let best: { box: Box; cost: number; ring: number } | undefined;
    for (let ring = 0; ring < 6 && !(best && isFree(best.cost)); ring++) {
      for (const [dx, dy] of directions) {
        const box = boxAt(task, dx, dy, task.clearance + ring * task.height * 1.1);
        const cost = taken.reduce((sum, other) => sum + overlap(box, other), 0) + outside(box, frame);
        if (!best || cost < best.cost) best = { box, cost, ring };
        if (isFree(cost)) break;
      }
    }
    taken.push(best!.box);
    return { id: task.id, ...best!.box, led: best!.ring > 0 };
  });
}

/** Areas are differences of products: a place without overlap may cost a rounding error. */
function isFree(cost: number): boolean {
  return cost < 1e-6;
}

function boxAt({ x, y, width, height }: LabelTask, dx: number, dy: number, distance: number): Box {
  const reach = dx !== 0 && dy !== 0 ? distance * Math.SQRT1_2 : distance;
  return {
    x: dx > 0 ? x + reach : dx < 0 ? x - reach - width : x - width / 2,
    y: dy > 0 ? y + reach : dy < 0 ? y - reach - height : y - height / 2,
    width,
    height,
  };
}

/** Area that two boxes share. */
export function overlap(a: Box, b: Box): number {
  const w = Math.min(a.x + a.width, b.x + b.width) - Math.max(a.x, b.x);
  const h = Math.min(a.y + a.height, b.y + b.height) - Math.max(a.y, b.y);
  return w > 0 && h > 0 ? w * h : 0;
}

/** Area of a box that lies outside the frame; weighs more than an overlap, since it would be cut off. */
function outside(box: Box, frame: Box): number {
  return 4 * (box.width * box.height - overlap(box, frame));
}
