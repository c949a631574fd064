package gpx

import (
	"encoding/xml"
	"strings"
)

// element is what a tag means where it stands.
type element uint8

const (
	elOther element = iota
	elGpx
	elTrack
	elSegment
	elPoint
	elRoute
	elRoutePoint
	elEle
	elTime
	elSpeed
	elExtensions
)

// kinship says which tags mean something inside which, by local name. Whatever
// is not listed is passed over with all that it holds.
var kinship = map[element]map[string]element{
	elGpx:        {"trk": elTrack, "rte": elRoute},
	elTrack:      {"trkseg": elSegment},
	elSegment:    {"trkpt": elPoint},
	elRoute:      {"rtept": elRoutePoint},
	elPoint:      pointFields,
	elRoutePoint: pointFields,
}

// speed stands in the point itself in GPX 1.0, in its extensions since.
var pointFields = map[string]element{"ele": elEle, "time": elTime, "speed": elSpeed, "extensions": elExtensions}

// open is an element that has begun and not yet ended.
type open struct {
	name xml.Name // with its prefix in place of the name space
	is   element
}

// childOf says what the tag name means inside parent. A prefix other than the
// parent's is another vocabulary's, except inside extensions.
func childOf(parent open, name xml.Name) element {
	if parent.is == elExtensions {
		if strings.EqualFold(name.Local, "speed") {
			return elSpeed
		}
		return elExtensions
	}
	if name.Space != parent.name.Space {
		return elOther
	}
	return kinship[parent.is][name.Local]
}

// written prints a name as in the file.
func written(n xml.Name) string {
	if n.Space == "" {
		return n.Local
	}
	return n.Space + ":" + n.Local
}
