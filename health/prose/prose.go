// Package prose holds the few rules of grammar by which texts for people are
// put together, so that the command line, the page and the reports say the same
// thing in the same way. Quantities with a unit are written by package units.
package prose

import (
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Plural counts things: "1 ride", "12 000 rides", "2 passes".
func Plural[N int | int64](n N, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	if strings.HasSuffix(noun, "s") || strings.HasSuffix(noun, "x") {
		noun += "e"
	}
	return Grouped(n) + " " + noun + "s"
}

// Grouped writes n with a blank between groups of three digits from 10 000 on,
// as ISO 80000-1 parts digits (from memory).
func Grouped[N int | int64](n N) string {
	digits := strconv.FormatInt(int64(n), 10)
	if len(digits) < 5 {
		return digits
	}
	var b strings.Builder
	for i, d := range digits {
		if i > 0 && (len(digits)-i)%3 == 0 {
			b.WriteByte(' ')
		}
		b.WriteRune(d)
	}
	return b.String()
}

// List joins words as in a sentence, the last behind "or", "and" or the like:
// "a, b or c".
func List(words []string, last string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	n := len(words) - 1
	return strings.Join(words[:n], ", ") + " " + last + " " + words[n]
}

// Spaced writes a name of the records in words: "cells replaced".
func Spaced(name string) string { return strings.ReplaceAll(name, "_", " ") }

// Capital begins a text with a capital letter.
func Capital(text string) string {
	r, n := utf8.DecodeRuneInString(text)
	if upper := unicode.ToUpper(r); upper != r {
		return string(upper) + text[n:]
	}
	return text
}

// Sentence begins a text with a capital letter and ends it with a full stop,
// unless it ends as a sentence does already. "" stays "".
func Sentence(text string) string {
	if text == "" {
		return ""
	}
	text = Capital(text)
	if strings.ContainsAny(text[len(text)-1:], ".!?") {
		return text
	}
	return text + "."
}

// Clip cuts a text that is shown in an error to some 40 bytes, between two
// characters, and marks the cut by three dots.
func Clip(text string) string {
	const most = 40
	if len(text) <= most {
		return text
	}
	cut := most
	for cut > 0 && !utf8.RuneStart(text[cut]) {
		cut--
	}
	return text[:cut] + "..."
}
