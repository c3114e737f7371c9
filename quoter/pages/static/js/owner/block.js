/** Where a pasted block goes, how far the table grows, and what there is no room for. */

/**
 * @param {string[][]} block
 * @param {{row: number, column: number}} at
 * @param {{rows: number, columns: number, canGrow: boolean}} room
 */
export function planned(block, at, room) {
  const columns = Math.min(block[0].length, room.columns - at.column);
  const left = room.rows - at.row;
  const rows = room.canGrow ? block.length : Math.min(block.length, left);
  return {
    cells: block.slice(0, rows).map((cells) => cells.slice(0, columns)),
    newRows: Math.max(0, rows - left),
    lostCells: block.slice(0, rows).map((cells) => cells.slice(columns)).filter((cells) => cells.some(Boolean)),
    lostRows: block.slice(rows),
  };
}

/** One cell pasted over many fills them all. */
export function spread(block, height, width) {
  const isOne = block.length === 1 && block[0].length === 1;
  return isOne ? Array.from({ length: height }, () => Array(width).fill(block[0][0])) : block;
}
