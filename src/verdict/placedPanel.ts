import type { Outline } from '../measure/joins.ts';
import type { JudgedPanel, PanelBody } from './judgedFile.ts';

/** A panel of the job with where it stands in it. */
export interface PlacedPanel extends Outline {
  readonly file: string;
  readonly panel: JudgedPanel;
  readonly body: PanelBody;
}
