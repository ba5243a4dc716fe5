import init from 'opencascade.js/dist/node.js';
import type { OpenCascadeInstance } from 'opencascade.js/dist/opencascade.full.js';
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
