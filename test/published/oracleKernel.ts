import init from 'opencascade.js/dist/node.js';
import type { OpenCascadeInstance } from 'opencascade.js/dist/opencascade.full.js';
import type { ControlNet } from '../../src/geometry/controlNet.ts';
import { breakpoints } from '../../src/geometry/knots.ts';
import type { Vector } from '../../src/geometry/vector.ts';

/** A B-spline surface as a general geometry kernel has it. Everything in millimetres. */
export interface KernelSurface {
  readonly degree: readonly [number, number];
  /** Number of control points in u and in v. */
  readonly count: readonly [number, number];
  readonly knots: readonly [readonly number[], readonly number[]];
  /** Control point of u index `column` and v index `row`. */
  readonly pole: (row: number, column: number) => Vector;
  readonly evaluate: (u: number, v: number) => Vector;
}

let kernel: Promise<OpenCascadeInstance> | null = null;
/** The kernel, loaded once a process: it takes seconds. */
export const loaded = (): Promise<OpenCascadeInstance> =>
  (kernel ??= (init as unknown as (options: object) => Promise<OpenCascadeInstance>)({
    // Its readers print statistics.
    module: { print: () => undefined, printErr: () => undefined },
  }));

/** Surface types of the kernel's adaptor (GeomAbs_SurfaceType) that this reads. */
const bsplineType = 'GeomAbs_BSplineSurface';

/**
 * The B-spline surfaces under the faces of a file, in the kernel's order, with every placement
 * applied and no trim. Faces on other surfaces are left out.
 */
export async function kernelSurfaces(
  bytes: Uint8Array,
  format: 'iges' | 'step',
): Promise<KernelSurface[]> {
  const oc = await loaded();
  const path = `/read.${format}`;
  oc.FS.writeFile(path, bytes);
  const reader = format === 'iges' ? new oc.IGESControl_Reader_1() : new oc.STEPControl_Reader_1();
  if (reader.ReadFile(path) !== oc.IFSelect_ReturnStatus.IFSelect_RetDone)
    throw new Error(`the kernel cannot read this ${format} file`);
  reader.TransferRoots(new oc.Message_ProgressRange_1());
  oc.FS.unlink(path);
  const kinds = oc.TopAbs_ShapeEnum;
  const explorer = new oc.TopExp_Explorer_2(
    reader.OneShape(),
    kinds.TopAbs_FACE as never,
    kinds.TopAbs_SHAPE as never,
  );
  const found: KernelSurface[] = [];
  for (; explorer.More(); explorer.Next()) {
    const adaptor = new oc.BRepAdaptor_Surface_2(oc.TopoDS.Face_1(explorer.Current()), false);
    if (adaptor.GetType() !== oc.GeomAbs_SurfaceType[bsplineType]) continue;
    const surface = adaptor.BSpline().get();
    const flat = (distinct: number, value: (k: number) => number, times: (k: number) => number) =>
      Array.from({ length: distinct }, (_, k) =>
        Array.from({ length: times(k + 1) }, () => value(k + 1)),
      ).flat();
    found.push({
      degree: [surface.UDegree(), surface.VDegree()],
      count: [surface.NbUPoles(), surface.NbVPoles()],
      knots: [
        flat(
          surface.NbUKnots(),
          (k) => surface.UKnot(k),
          (k) => surface.UMultiplicity(k),
        ),
        flat(
          surface.NbVKnots(),
          (k) => surface.VKnot(k),
          (k) => surface.VMultiplicity(k),
        ),
      ],
      pole: (row, column) => {
        const p = surface.Pole(column + 1, row + 1);
        return [p.X(), p.Y(), p.Z()];
      },
      evaluate: (u, v) => {
        const p = surface.Value(u, v);
        return [p.X(), p.Y(), p.Z()];
      },
    });
  }
  return found;
}

/** Normal along S_u x S_v and curvatures signed with it, 1/mm; larger principal curvature first. */
interface KernelBend {
  readonly normal: Vector;
  readonly gaussian: number;
  readonly mean: number;
  readonly principal: readonly [number, number];
}

/** The kernel's answer at any parameters of a net handed to it as it is; null where it has none. */
export async function kernelBend(
  net: ControlNet,
): Promise<(u: number, v: number) => KernelBend | null> {
  const oc = await loaded();
  const poles = new oc.TColgp_Array2OfPnt_2(1, net.columns, 1, net.rows);
  const weights = new oc.TColStd_Array2OfReal_2(1, net.columns, 1, net.rows);
  for (let row = 0; row < net.rows; row++)
    for (let column = 0; column < net.columns; column++) {
      const at = row * net.columns + column;
      const [x, y, z] = net.points.subarray(3 * at, 3 * at + 3);
      poles.SetValue(column + 1, row + 1, new oc.gp_Pnt_3(x, y, z));
      weights.SetValue(column + 1, row + 1, net.weights ? net.weights[at] : 1);
    }
  const sides = ([0, 1] as const).map((side) => {
    const distinct = breakpoints(net.knots[side], 0);
    const values = new oc.TColStd_Array1OfReal_2(1, distinct.length);
    const times = new oc.TColStd_Array1OfInteger_2(1, distinct.length);
    distinct.forEach(({ value, multiplicity }, k) => {
      values.SetValue(k + 1, value);
      times.SetValue(k + 1, multiplicity);
    });
    return { values, times };
  });
  const surface = new oc.Geom_BSplineSurface_2(
    poles,
    weights,
    sides[0].values,
    sides[1].values,
    sides[0].times,
    sides[1].times,
    net.degree[0],
    net.degree[1],
    false,
    false,
  );
  const handle = new oc.Handle_Geom_Surface_2(surface);
  return (u, v) => {
    const local = new oc.GeomLProp_SLProps_1(handle, u, v, 2, 1e-12);
    try {
      if (!local.IsNormalDefined() || !local.IsCurvatureDefined()) return null;
      const normal = local.Normal();
      const [a, b] = [local.MaxCurvature(), local.MinCurvature()];
      return {
        normal: [normal.X(), normal.Y(), normal.Z()],
        gaussian: local.GaussianCurvature(),
        mean: local.MeanCurvature(),
        principal: [Math.max(a, b), Math.min(a, b)],
      };
    } finally {
      local.delete();
    }
  };
}
