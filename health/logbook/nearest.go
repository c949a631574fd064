package logbook

import "strings"

// noSuchField refuses a field name that kind k does not have, and names the
// one that may have been meant, else all that it has.
func noSuchField(k Kind, name string) error {
	want := "a " + k.String() + " has no such field"
	if near := nearest(name, func(yield func(string) bool) {
		for _, f := range tables[k] {
			if !yield(f.Name) {
				return
			}
		}
	}); near != "" {
		want += ": want " + near + "?"
	} else {
		names := make([]string, 0, len(tables[k]))
		for _, f := range tables[k] {
			names = append(names, f.Name)
		}
		want += ": want one of " + strings.Join(names, ", ")
	}
	return &FieldError{Field: "field", Value: name, Want: want}
}

// noSuchColumn is noSuchField for a column, which may be a field of any kind.
func noSuchColumn(name string) error {
	want := "no record has such a field"
	near := nearest(name, func(yield func(string) bool) {
		for _, c := range csvHeader() {
			if !yield(c) {
				return
			}
		}
	})
	switch {
	case near != "":
		want += ": want " + near + "?"
	case strings.ContainsAny(name, ";\t"):
		want += ": want commas between the columns"
	default:
		want += ": want JSON Lines, or CSV with one column a field, such as record,pack,at,distance_km"
	}
	return &FieldError{Field: "column", Value: name, Want: want}
}

// nearest returns the first name that differs from typed in case, spaces or a
// missing unit alone ("AT", "distance"), else the first that is one or two
// letters away; "" where there is none.
func nearest(typed string, names func(func(string) bool)) string {
	plain := strings.ToLower(strings.Join(strings.FieldsFunc(typed, func(r rune) bool { return r == ' ' || r == '-' || r == '_' }), "_"))
	if plain == "" || len(plain) > 40 {
		return ""
	}
	best, least := "", 3
	for name := range names {
		if name == plain || strings.HasPrefix(name, plain+"_") {
			return name
		}
		if d := EditDistance(plain, name); d < least && d < len(name)/2 {
			best, least = name, d
		}
	}
	return best
}

// EditDistance is the Levenshtein distance of two short texts, in bytes.
func EditDistance(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		diagonal := row[0]
		row[0] = i + 1
		for j := range len(b) {
			cost := diagonal
			if a[i] != b[j] {
				cost++
			}
			diagonal = row[j+1]
			row[j+1] = min(cost, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(b)]
}
