package terrain

import (
	"encoding/xml"
	"math"
	"strconv"
	"strings"
)

// gdalMetadata is the XML of tag 42112: items with a name, of the whole file or
// of one band (sample).
type gdalMetadata struct {
	Items []metadataItem `xml:"Item"`
}

type metadataItem struct {
	Name   string `xml:"name,attr"`
	Sample string `xml:"sample,attr,omitempty"`
	Role   string `xml:"role,attr,omitempty"`
	Value  string `xml:",chardata"`
}

// contentItem names the item by which WriteGeoTIFF says what the cells hold
// where they are not the heights of a terrain.
const contentItem = "FARHAIL_CONTENT"

// applyMetadata takes what tag 42112 says: scale, offset and unit of the
// heights, and where they come from.
func (h *header) applyMetadata(text string) error {
	if text == "" {
		return nil
	}
	var m gdalMetadata
	if err := xml.Unmarshal([]byte(text), &m); err != nil {
		return malformed(h.file, -1, "metadata: %v", err)
	}
	for _, item := range m.Items {
		if item.Sample != "" && item.Sample != "0" {
			continue
		}
		if err := h.applyItem(item.Name, item.Role, strings.TrimSpace(item.Value)); err != nil {
			return err
		}
	}
	return nil
}

func (h *header) applyItem(name, role, value string) error {
	switch role {
	case "scale", "offset":
		v, err := strconv.ParseFloat(value, 64)
		if err != nil || math.IsNaN(v) || math.IsInf(v, 0) || role == "scale" && v == 0 {
			return malformed(h.file, -1, "metadata: %s is %q", role, value)
		}
		if role == "scale" {
			h.scale.factor = v
		} else {
			h.scale.offset = v
		}
	case "unittype":
		v, ok := unitMetres(value)
		if !ok {
			return notHeights(h.file, "give a file of heights, in metres or feet", "its cells are in %q, not heights", value)
		}
		h.scale.unitM = v
		if v != 1 {
			h.scale.unit = value
		}
	}
	switch name {
	case contentItem:
		return notHeights(h.file, "give the terrain that it was made from", "its cells are %s, not heights of a terrain", value)
	case "DTED_DigitizingSystem":
		if strings.HasPrefix(value, "SRTM") {
			h.surface = SurfaceTops
		}
	case "DTED_VerticalDatum":
		if value == "E96" && h.datum == notStated {
			h.datum = "EGM96"
		}
	}
	return nil
}
