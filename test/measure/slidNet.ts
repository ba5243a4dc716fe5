import { pointAt, withMoves, type ControlNet, type Spot } from '../../src/geometry/controlNet.ts';
import { difference, scaled, unit, type Vector } from '../../src/geometry/vector.ts';

/** The net with one point slid `by` millimetres along its row or column, and that point's move. */
export function slidNet(
  net: ControlNet,
  spot: Spot,
  along: 'row' | 'column',
  by: number,
): { readonly net: ControlNet; readonly moved: Vector } {
  const [last, at] = along === 'row' ? [net.columns - 1, spot.column] : [net.rows - 1, spot.row];
  const point = (index: number): Vector =>
    along === 'row' ? pointAt(net, spot.row, index) : pointAt(net, index, spot.column);
  const way = unit(difference(point(Math.min(last, at + 1)), point(Math.max(0, at - 1))));
  if (!way) throw new RangeError(`no ${along} direction at row ${spot.row}, column ${spot.column}`);
  const moved = scaled(way, by);
  return { net: withMoves(net, [{ spot, by: moved }]), moved };
}
