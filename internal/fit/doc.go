// Package fit holds least squares as the workshop needs it: a straight solution
// for planes and lines, Gauss–Newton for what is bent, and for both the
// covariance, the leverages and what the measurements cannot tell.
//
// Observations are weighted by the caller: a row and its observation are
// divided by the observation's standard uncertainty. The solution goes by the
// singular values of the design with its columns scaled to unit length, so that
// unknowns of very different size (radians beside millimetres per newton) do not
// hide one another, and so that combinations which no measurement touches are
// found instead of being answered with a number.
//
// Formulas: Å. Björck, Numerical Methods for Least Squares Problems, chapters 1
// and 2 (scaling, singular values) and 9 (Gauss–Newton);
// studentised residuals after R. D. Cook and S. Weisberg, Residuals and
// Influence in Regression, chapter 2. From memory.
package fit
