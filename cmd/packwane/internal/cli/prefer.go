package cli

import (
	"errors"
	"runtime/debug"

	"github.com/spf13/cobra"

	"packwane/health/units"
	"packwane/store"
)

func newPrefer(a *app) *cobra.Command {
	return &cobra.Command{
		Use:     "prefer [metric|imperial]",
		Short:   "Choose the units that packwane speaks and takes bare numbers in",
		GroupID: groupOther,
		Long: `Keeps the units that you prefer in the store. They are what answers are given
in, and what a bare number is taken in where the name of the field does not say
a unit (distance=9.5, not distance-km=9.5). The records themselves keep their
metric fields.`,
		Example: `  packwane prefer imperial
  packwane prefer`,
		Args:      between(0, 1),
		ValidArgs: []string{"metric", "imperial"},
		RunE: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 {
				return a.showPreference()
			}
			system, err := units.ParseSystem(args[0])
			if err != nil {
				return wrong("units %w", err)
			}
			err = a.change(func(s *store.Store) error { return s.PutSetting(settingUnits, system.String()) })
			if err != nil {
				return err
			}
			return a.sayUnits(system)
		},
	}
}

func (a *app) showPreference() error {
	who, err := a.rider(nil)
	if a.unitsFlag == "" {
		err = a.read(func(s *store.Store) error {
			who, err = a.rider(s)
			return err
		})
	}
	if err != nil && !errors.Is(err, store.ErrNoStore) && !errors.Is(err, errNoLog) {
		return err
	}
	return a.sayUnits(who.System)
}

func (a *app) sayUnits(system units.System) error {
	return a.done(map[string]string{"units": system.String()}, "units: %s (%s, %s, %s, %s)", system,
		units.Symbol(units.Km, system), units.Symbol(units.Kpa, system), units.Symbol(units.Kg, system), units.Symbol(units.Celsius, system))
}

func newVersion(a *app) *cobra.Command {
	return &cobra.Command{
		Use: "version", Short: "Show how this program was built", GroupID: groupOther, Args: between(0, 0),
		RunE: func(*cobra.Command, []string) error { return a.showVersion() },
	}
}

func (a *app) showVersion() error {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return failed("this program does not know how it was built")
	}
	return a.done(versionOf(info), "packwane %s", versionWords(info))
}

// versionJSON says how the program was built; what is not known is left out.
type versionJSON struct {
	Version  string `json:"version"`
	Go       string `json:"go"`
	Revision string `json:"revision,omitempty"`
	Modified bool   `json:"modified,omitempty"` // from a tree with changes that are not in the revision
}

func versionOf(info *debug.BuildInfo) versionJSON {
	v := versionJSON{Version: info.Main.Version, Go: info.GoVersion}
	if v.Version == "" {
		v.Version = "(devel)"
	}
	for _, s := range info.Settings {
		switch s.Key {
		case "vcs.revision":
			v.Revision = s.Value
		case "vcs.modified":
			v.Modified = s.Value == "true"
		}
	}
	return v
}

func versionWords(info *debug.BuildInfo) string {
	v := versionOf(info)
	words := v.Version + ", built with " + v.Go
	if v.Revision != "" {
		words += ", revision " + v.Revision
	}
	if v.Modified {
		words += " with local changes"
	}
	return words
}
