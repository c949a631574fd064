package trace

// signer finds out what a positive current does by how the voltage answers to
// it: charging raises it. Stretches wait here until that is known.
type signer struct {
	sign     Sign // SignAuto while it is not known
	given    Sign // by the map or the file's own words
	usual    Sign // by the format, where neither tells
	steps    *steps
	up, down int      // votes of long stretches: the voltage rose with the file's positive current, fell
	answer   response // of the voltage, over all
	waiting  []span
	next     *segmenter
	found    bool // by the voltage
	declared bool // by words or columns of the file
}

// When the voltage's answer is clear: at least clearVotes, clearRatio times as
// many for one sign as for the other. At the end of the file weakRatio does.
const (
	clearVotes  = 12
	clearRatio  = 5
	fewVotes    = 3
	doubtRatio  = 3 // fewer are said
	weakRatio   = 2
	mostWaiting = 8000
	slowS       = 60.0 // a stretch this long votes
	slowVotes   = 3
	slowVolts   = 5e-4
	clearErrors = 5 // times its error, a regression votes
)

// declare takes it from the file's own words or columns that positive current
// charges; a sign in the map overrules it.
func (s *signer) declare() {
	if s.given == SignAuto {
		s.given, s.declared = PositiveCharges, true
		if s.sign == SignAuto {
			s.decide(PositiveCharges)
		}
	}
}

func (s *signer) stretch(p *span) {
	if d := p.endV - p.firstV; p.class != 0 && p.seconds() >= slowS && (d > slowVolts*p.endV || -d > slowVolts*p.endV) {
		if (d > 0) == (p.class > 0) {
			s.up += slowVotes
		} else {
			s.down += slowVotes
		}
	}
	s.answer.join(&p.ohms)
	if s.sign != SignAuto {
		s.next.stretch(p)
		return
	}
	s.waiting = append(s.waiting, *p)
	up, down := s.votes()
	switch {
	case up+down >= clearVotes && up >= clearRatio*down:
		s.decide(PositiveCharges)
	case up+down >= clearVotes && down >= clearRatio*up:
		s.decide(PositiveDischarges)
	case len(s.waiting) >= mostWaiting:
		s.decide(s.weak())
	}
}

func (s *signer) votes() (up, down int) { return s.up + s.steps.up, s.down + s.steps.down }

// judge lets the regression vote, once all rows are in it.
func (s *signer) judge() {
	switch ohms, err, ok := s.answer.ohms(); {
	case ok && ohms > clearErrors*err:
		s.up += clearVotes
	case ok && -ohms > clearErrors*err:
		s.down += clearVotes
	}
}

// weak returns the sign that more votes are for, SignAuto where it is open.
func (s *signer) weak() Sign {
	switch up, down := s.votes(); {
	case up >= weakRatio*down && up > 0:
		return PositiveCharges
	case down >= weakRatio*up && down > 0:
		return PositiveDischarges
	}
	return SignAuto
}

func (s *signer) decide(sign Sign) {
	if sign == SignAuto {
		if len(s.waiting) < mostWaiting {
			return
		}
		sign = s.usual
	} else {
		s.found = true
	}
	if sign == SignAuto {
		s.waiting = s.waiting[:0] // never known: the end of the file says so
		return
	}
	s.sign = sign
	s.next.sign = sign
	for k := range s.waiting {
		s.next.stretch(&s.waiting[k])
	}
	s.waiting = nil
}

// finish decides at the end of the file with what there is.
func (s *signer) finish() error {
	s.judge()
	if s.sign == SignAuto {
		s.decide(s.weak())
	}
	if s.sign == SignAuto && s.usual != SignAuto {
		s.sign, s.next.sign = s.usual, s.usual
		for k := range s.waiting {
			s.next.stretch(&s.waiting[k])
		}
		s.waiting = nil
	}
	if s.sign == SignAuto {
		return ErrSign
	}
	s.next.finish()
	return nil
}

// warnings says how the sign was found where it could be doubted.
func (s *signer) warnings(column string) []Warning {
	up, down := s.votes()
	along, against := up, down
	if s.sign == PositiveDischarges {
		along, against = down, up
	}
	word := "charges"
	if s.sign == PositiveDischarges {
		word = "discharges"
	}
	var out []Warning
	say := func(code, text string) { out = append(out, Warning{code, "column \"" + column + "\": " + text}) }
	switch {
	case s.given != SignAuto && against >= clearVotes/2 && against >= clearRatio*along:
		say("sign_contradicted", "the map or the file says that positive current "+word+", the voltage answers the other way round")
	case s.given != SignAuto:
	case !s.found:
		say("sign_by_format", "the voltage does not tell the sign of the current; positive "+word+", as the open format of the headers has it")
	case s.usual != SignAuto && s.usual != s.sign:
		say("sign_against_format", "positive current "+word+" by the voltage's answer, against the open format of the headers")
	case s.usual == s.sign && along >= weakRatio*against:
	case along < fewVotes || along < doubtRatio*against:
		say("sign_weak", "positive current "+word+" by the voltage's answer, but it answered seldom or both ways; sign= in the map settles it")
	}
	return out
}
