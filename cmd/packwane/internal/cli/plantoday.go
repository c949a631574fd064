package cli

func (a *app) planToday(args []string) error { return wrong("--today: not yet") }
