import { Matrix, QrDecomposition } from 'ml-matrix';

/**
 * Orthonormal polynomials on the given abscissae, one column a degree: the QR factor of their
 * Chebyshev Vandermonde matrix. Square; last column: degree
 * n - 1.
 */
export function discretePolynomials(abscissae: Float64Array): Matrix {
  const count = abscissae.length;
  const [first, last] = [abscissae[0], abscissae[count - 1]];
  const chebyshev = new Matrix(count, count);
  abscissae.forEach((value, i) => {
    const x = (2 * (value - first)) / (last - first) - 1;
    let [now, next] = [1, x];
    for (let degree = 0; degree < count; degree++) {
      chebyshev.set(i, degree, now);
      [now, next] = [next, 2 * x * next - now];
    }
  });
  return new QrDecomposition(chebyshev).orthogonalMatrix;
}
