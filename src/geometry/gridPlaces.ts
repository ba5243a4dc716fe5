import { basisTable, tableValues } from './basisTable.ts';
import type { ControlNet } from './controlNet.ts';
import { netValues, turnedValues, valueWidth } from './netValues.ts';

/** The surface at all pairs of parameters: v outside, u inside, homogeneous where there are weights; mm. */
export function gridPlaces(net: ControlNet, us: Float64Array, vs: Float64Array): Float64Array {
  const width = valueWidth(net);
  const alongU = tableValues(
    basisTable(net.knots[0], net.degree[0], us),
    netValues(net),
    net.rows * width,
  );
  return tableValues(
    basisTable(net.knots[1], net.degree[1], vs),
    turnedValues(alongU, us.length, net.rows, width),
    us.length * width,
  );
}

/** As gridPlaces, three numbers a place in any case: x, y, z, mm. */
export function gridPoints(net: ControlNet, us: Float64Array, vs: Float64Array): Float64Array {
  const places = gridPlaces(net, us, vs);
  if (!net.weights) return places;
  return Float64Array.from({ length: (places.length / 4) * 3 }, (_, at) => {
    const k = 4 * Math.floor(at / 3);
    return places[k + (at % 3)] / places[k + 3];
  });
}
