/** A unit of length as a file names it, and how many millimetres it is. */
export interface LengthUnit {
  readonly name: string;
  readonly millimetres: number;
}

export const millimetre: LengthUnit = { name: 'mm', millimetres: 1 };

/** Units by our own short names; the inch is exact since the international yard of 1959. */
export const lengthUnits: Readonly<Record<string, LengthUnit>> = {
  mm: millimetre,
  cm: { name: 'cm', millimetres: 10 },
  m: { name: 'm', millimetres: 1000 },
  km: { name: 'km', millimetres: 1e6 },
  um: { name: 'um', millimetres: 1e-3 },
  in: { name: 'in', millimetres: 25.4 },
  ft: { name: 'ft', millimetres: 304.8 },
  mil: { name: 'mil', millimetres: 0.0254 },
  microinch: { name: 'microinch', millimetres: 2.54e-5 },
  mile: { name: 'mile', millimetres: 1609344 },
};
