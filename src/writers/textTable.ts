/** A table's columns: the head, and whether words stand in it. */
export interface Column {
  readonly head: string;
  readonly isWord: boolean;
}

/**
 * A table in columns of fixed width: those of numbers end flush, those of words begin flush; the first
 * is cut to what is left of `width`.
 */
export function textTable(
  columns: readonly Column[],
  rows: readonly (readonly string[])[],
  width: number,
): string[] {
  const heads = columns.map(({ head }) => head);
  const widths = heads.map((head, k) =>
    Math.max(head.length, ...rows.map((cells) => cells[k].length)),
  );
  const others = widths.slice(1).reduce((sum, own) => sum + own + 2, 2);
  const first = Math.max(heads[0].length, Math.min(widths[0], width - others));
  return [heads, ...rows].flatMap((cells) => {
    const [names, ...more] = cells;
    const rest = more
      .map((cell, k) =>
        columns[k + 1].isWord ? cell.padEnd(widths[k + 1]) : cell.padStart(widths[k + 1]),
      )
      .join('  ')
      .trimEnd();
    // names too long for their column stand on a line of their own
    return names.length > first
      ? [`  ${names}`, `  ${' '.repeat(first)}  ${rest}`]
      : [`  ${names.padEnd(first)}  ${rest}`];
  });
}
