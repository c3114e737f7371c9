/** The cell that has the focus, the block that is selected, and where keys lead. Places are those on the screen. */

/** @typedef {{row: number, column: number}} Place */

const STEPS = {
  ArrowUp: ({ row, column }) => ({ row: row - 1, column }),
  ArrowDown: ({ row, column }) => ({ row: row + 1, column }),
  ArrowLeft: ({ row, column }) => ({ row, column: column - 1 }),
  ArrowRight: ({ row, column }) => ({ row, column: column + 1 }),
  Home: ({ row }) => ({ row, column: 0 }),
  End: ({ row }, { columns }) => ({ row, column: columns - 1 }),
  PageUp: ({ row, column }, { page }) => ({ row: row - page, column }),
  PageDown: ({ row, column }, { page }) => ({ row: row + page, column }),
};

const FAR_STEPS = {
  Home: () => ({ row: 0, column: 0 }),
  End: (_, { rows, columns }) => ({ row: rows - 1, column: columns - 1 }),
  ArrowUp: ({ column }) => ({ row: 0, column }),
  ArrowDown: ({ column }, { rows }) => ({ row: rows - 1, column }),
  ArrowLeft: ({ row }) => ({ row, column: 0 }),
  ArrowRight: ({ row }, { columns }) => ({ row, column: columns - 1 }),
};

/** Where a key leads, or null for a key that leads nowhere. @returns {Place|null} */
export function led(place, key, isFar, size) {
  const step = (isFar ? FAR_STEPS : STEPS)[key];
  return step ? within(step(place, size), size) : null;
}

/** The next cell in reading order, or null at the end. @returns {Place|null} */
export function neighbour({ row, column }, by, { rows, columns }) {
  const index = row * columns + column + by;
  return index < 0 || index >= rows * columns ? null : { row: Math.floor(index / columns), column: index % columns };
}

/** @returns {Place} */
export function within({ row, column }, { rows, columns }) {
  return { row: clamped(row, rows), column: clamped(column, columns) };
}

function clamped(number, count) {
  return Math.max(0, Math.min(number, count - 1));
}

/** The block between two corners. */
export function rectangle(one, other) {
  return {
    top: Math.min(one.row, other.row),
    bottom: Math.max(one.row, other.row),
    first: Math.min(one.column, other.column),
    last: Math.max(one.column, other.column),
  };
}

export function holds({ top, bottom, first, last }, row, column) {
  return row >= top && row <= bottom && column >= first && column <= last;
}
