import type { Outline } from '../measure/joins.ts';
import type { Miss, RuleData, SurfaceClass, Thresholds } from '../rules/rule.ts';
import type { Nudge } from '../suggest/nudges.ts';
import { beyondLimit, fingerprint, severityOf, type Finding } from './finding.ts';
import type { JudgedPanel, PanelBody } from './judgedFile.ts';

/** A panel of the job with where it stands in it. */
export interface PlacedPanel extends Outline {
  readonly file: string;
  readonly panel: JudgedPanel;
  readonly body: PanelBody;
}

/** A miss as a finding of one panel. */
export function findingOf(
  data: RuleData,
  miss: Miss,
  on: PlacedPanel,
  surfaceClass: SurfaceClass,
  { limit }: Thresholds,
  nudge: Nudge | null,
): Finding {
  const beyond = Math.max(beyondLimit(data, miss.value, limit), miss.beyond ?? 0);
  return {
    id: fingerprint(data.id, on.panel.name, miss.site),
    rule: data.id,
    severity: severityOf(data, surfaceClass, { beyond, certainty: 'named' }),
    panel: on.panel.name,
    file: on.file,
    miss,
    unit: data.unit,
    limit,
    beyond,
    certainty: 'named',
    nudge,
    curedBy: null,
  };
}
