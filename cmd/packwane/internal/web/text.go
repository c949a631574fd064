package web

import (
	"strconv"
	"strings"
)

// plural returns "1 ride" or "3 rides".
func plural(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	if strings.HasSuffix(noun, "s") || strings.HasSuffix(noun, "x") {
		noun += "e"
	}
	return strconv.Itoa(n) + " " + noun + "s"
}

// joined joins words as in a sentence: "a, b or c".
func joined(words []string, last string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " " + last + " " + words[len(words)-1]
}

// spaced writes a name of several words as people do: "cells replaced".
func spaced(name string) string { return strings.ReplaceAll(name, "_", " ") }

// sentenceCase begins with a capital.
func sentenceCase(text string) string {
	if text == "" {
		return ""
	}
	return strings.ToUpper(text[:1]) + text[1:]
}
