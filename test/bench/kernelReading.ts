import init from 'opencascade.js/dist/node.js';
import type { OpenCascadeInstance } from 'opencascade.js/dist/opencascade.full.js';
import type { Task } from './durations.ts';

/** A general geometry kernel, with its printing off. Loading takes seconds. */
export const loadedKernel = (): Promise<OpenCascadeInstance> =>
  (init as unknown as (options: object) => Promise<OpenCascadeInstance>)({
    module: { print: () => undefined, printErr: () => undefined },
  });

/**
 * Reading a file and making shapes of it with the kernel, as a task to be timed. The bytes are put
 * into its file system beforehand.
 */
export function kernelReading(
  oc: OpenCascadeInstance,
  bytes: Uint8Array,
  format: 'iges' | 'step',
): Task {
  const path = `/bench-${bytes.length}.${format}`;
  oc.FS.writeFile(path, bytes);
  return {
    run: () => {
      const reader =
        format === 'iges' ? new oc.IGESControl_Reader_1() : new oc.STEPControl_Reader_1();
      if (reader.ReadFile(path) !== oc.IFSelect_ReturnStatus.IFSelect_RetDone)
        throw new Error(`the kernel cannot read this ${format} file`);
      reader.TransferRoots(new oc.Message_ProgressRange_1());
      if (reader.NbShapes() === 0)
        throw new Error(`the kernel finds nothing in this ${format} file`);
      reader.delete();
    },
  };
}
