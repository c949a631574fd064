package model

// MoreDraws reads so many times the usual draws off the fit, where a test asks what the
// model says and not what few draws make of it.
func (fit *Fit) MoreDraws(times int) { fit.draw(times * DefaultDraws) }
