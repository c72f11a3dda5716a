/** A corner as written in the file, so that equal corners are equal texts. */
type Corner = string;
export type Triangle = readonly [Corner, Corner, Corner];

/** The triangles of an STL file in its text form. */
export function readStl(text: string): Triangle[] {
  const corners = [...text.matchAll(/^\s*vertex (.+)$/gm)].map(([, corner]) => corner!.trim());
  return Array.from({ length: corners.length / 3 }, (_, index) => {
    const [a, b, c] = corners.slice(index * 3, index * 3 + 3);
    return [a!, b!, c!];
  });
}

/**
 * Edges that keep a body from being closed: in a closed one each edge belongs to exactly two triangles, which run
 * along it in opposite directions.
 */
export function openEdges(triangles: readonly Triangle[]): string[] {
  const ways = new Map<string, number>();
  for (const [a, b, c] of triangles)
    for (const [from, to] of [
      [a, b],
      [b, c],
      [c, a],
    ] as const) {
      const way = `${from} > ${to}`;
      ways.set(way, (ways.get(way) ?? 0) + 1);
    }
  return [...ways].flatMap(([way, count]) => {
    const [from, to] = way.split(' > ');
    return count === 1 && ways.get(`${to} > ${from}`) === 1 ? [] : [way];
  });
}

const numbers = (corner: Corner) => corner.split(/\s+/).map(Number);

/** Length, width, height, rounded to 0.001. */
export function outerSize(triangles: readonly Triangle[]): number[] {
  const points = triangles.flat().map(numbers);
  return [0, 1, 2].map((axis) => {
    const along = points.map((point) => point[axis]!);
    const most = along.reduce((a, b) => Math.max(a, b));
    const least = along.reduce((a, b) => Math.min(a, b));
    return Math.round((most - least) * 1000) / 1000;
  });
}

/** What a closed body holds, in cubic millimetres; negative when its triangles face inwards. */
export function volume(triangles: readonly Triangle[]): number {
  return triangles.reduce((sum, triangle) => {
    const [[ax, ay, az], [bx, by, bz], [cx, cy, cz]] = triangle.map(numbers) as [
      number[],
      number[],
      number[],
    ];
    return (
      sum +
      (ax! * (by! * cz! - bz! * cy!) - ay! * (bx! * cz! - bz! * cx!) + az! * (bx! * cy! - by! * cx!)) / 6
    );
  }, 0);
}
