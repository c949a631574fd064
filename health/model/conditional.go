package model

import "gonum.org/v1/gonum/mat"

// conditional parts the precision at the mode into the knots and the rest.
type conditional struct {
	hessian *mat.SymDense
	rest    []int // indices of the other parameters
	chol    mat.Cholesky
	slope   *mat.Dense // d rest / d knots, in z
}

func (c *conditional) split(knots int) (knotPrecision *mat.SymDense) {
	n := c.hessian.SymmetricDim()
	c.rest = nil
	for i := range n {
		if i < numScalars || i >= numScalars+knots {
			c.rest = append(c.rest, i)
		}
	}
	r := len(c.rest)
	a := mat.NewSymDense(r, nil)
	b := mat.NewDense(r, knots, nil)
	for i, x := range c.rest {
		for j := i; j < r; j++ {
			a.SetSym(i, j, c.hessian.At(x, c.rest[j]))
		}
		for k := range knots {
			b.Set(i, k, c.hessian.At(x, numScalars+k))
		}
	}
	if !c.chol.Factorize(a) {
		panic("model: the precision at the mode is not positive definite")
	}
	c.slope = mat.NewDense(r, knots, nil)
	must(c.chol.SolveTo(c.slope, b))
	c.slope.Scale(-1, c.slope)
	knotPrecision = mat.NewSymDense(knots, nil)
	for i := range knots {
		for j := i; j < knots; j++ {
			v := c.hessian.At(numScalars+i, numScalars+j)
			for k := range r {
				v += b.At(k, i) * c.slope.At(k, j)
			}
			knotPrecision.SetSym(i, j, v)
		}
	}
	return knotPrecision
}
