package store

import (
	"packwane/health/logbook"
)

// Setting returns a preference, and whether it was ever set.
func (s *Store) Setting(key string) (value string, ok bool, err error) {
	err = s.view(func(v *view) error {
		payload, _, err := v.get(tagSettings, []byte(key))
		if err != nil {
			return err
		}
		if payload == nil {
			return v.scan(tagSettings, nil, nil)
		}
		value, ok = string(payload), true
		return nil
	})
	return value, ok, err
}

// PutSetting stores a preference. It is not part of what Undo takes back.
func (s *Store) PutSetting(key, value string) error {
	if key == "" || len(key) > logbook.MaxID {
		return &logbook.FieldError{Field: "setting", Value: key, Want: "want a name of 1 to 128 bytes"}
	}
	return s.act(Action{}, nil, func(p *plan) error {
		return p.putInline(tagSettings, []byte(key), []byte(value))
	})
}

// Settings returns every preference.
func (s *Store) Settings() (map[string]string, error) {
	all := map[string]string{}
	err := s.view(func(v *view) error {
		return v.scan(tagSettings, nil, func(key, payload []byte) error {
			all[string(key)] = string(payload)
			return nil
		})
	})
	return all, err
}
