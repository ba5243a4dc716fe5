import type { OtherContent } from '../otherContents.ts';
import { vdaElements } from './vdaElements.ts';
import { VdaParameters } from './vdaParameters.ts';
import { vdaStatements, type VdaCommand } from './vdaStatements.ts';

/** What is no surface, cuts none and places none; sets of points are told when the file is read. */
const labels: Partial<Record<VdaCommand, string>> = {
  POINT: 'point',
  CIRCLE: 'circle',
  CURVE: 'curve that bounds no face',
  TOP: 'table of neighbours',
};

/** What a file holds besides surfaces, by statement. A curve that a CONS names goes with its face. */
export function vdaOtherContents(bytes: Uint8Array): OtherContent[] {
  const file = vdaStatements(bytes);
  const elements = vdaElements(file.statements);
  const inBorders = new Set(
    elements.of('CONS').map((statement) => {
      const parameters = new VdaParameters(file, statement);
      parameters.name();
      return elements.find(parameters.name(), statement);
    }),
  );
  return (Object.keys(labels) as VdaCommand[]).flatMap((command) => {
    const count = elements.of(command).filter((statement) => !inBorders.has(statement)).length;
    return count > 0 ? [{ kind: `VDA-FS ${command}`, label: labels[command]!, count }] : [];
  });
}
