package documents

import (
	"fmt"
	"strconv"
	"strings"

	"withybed/models"
)

func splitOff(s *models.Split) string {
	text := fmt.Sprintf("%d split off", s.Count)
	if s.Source == models.FromTray {
		text = fmt.Sprintf("%d unrooted lifted from the tray to be stuck again", s.Count)
	}
	if s.Sister != "" {
		text += " as " + s.Sister
	}
	return text + told("; treatment", s.Treatment)
}

func movedTo(m *models.Move) string {
	switch m.To {
	case models.ToSoak:
		return fmt.Sprintf("%d put to soak", m.Count)
	case models.ToUsed:
		return fmt.Sprintf("%d used unrooted", m.Count) + told("", m.Use)
	case models.ToLost:
		return fmt.Sprintf("%d lost before sticking", m.Count) + told("", m.Cause.Words())
	}
	return fmt.Sprintf("%d put into the %s", m.Count, strings.ReplaceAll(string(m.To), "_", " "))
}

func stuck(s *models.Sticking) string {
	var where []string
	for _, part := range []string{s.Medium, s.Container, s.Bench, heat(s.BottomHeat)} {
		if part != "" {
			where = append(where, part)
		}
	}
	if s.Mist {
		where = append(where, "under mist")
	}
	return fmt.Sprintf("%s %d", did(s.StuckBy, "stuck"), s.Count) +
		told("", strings.Join(where, ", ")) + told("; treatment", s.TreatmentLabel())
}

func heat(h *models.BottomHeat) string {
	switch {
	case h == nil || h.IsZero():
		return ""
	case !h.Heated:
		return "no bottom heat"
	case h.Celsius == 0:
		return "bottom heat"
	}
	return "bottom heat " + strconv.FormatFloat(h.Celsius, 'g', -1, 64) + " °C"
}

// looked is a check, with the unrooted ones it left in the tray where known.
func looked(c *models.Check, unrooted *int) string {
	text := did(c.CheckedBy, "looked")
	if c.Examined != nil {
		text += fmt.Sprintf(" at %d of the tray", *c.Examined)
	}
	if c.Method != "" {
		text += " (" + strings.ReplaceAll(string(c.Method), "_", " ") + ")"
	}
	text += ": " + strings.Join(stands(c, unrooted), ", ")
	text += told("; lost since", losses(c.Lost)) + told("; rooted ones lost since", losses(c.LostRooted))
	if c.Withdrawn > 0 {
		text += fmt.Sprintf("; %d taken out unrooted", c.Withdrawn)
	}
	return text + told("; note", c.Note)
}

// stands is what stands in the tray at a check.
func stands(c *models.Check, unrooted *int) []string {
	var parts []string
	if c.Rooted == nil {
		parts = append(parts, "roots not examined")
	} else {
		parts = append(parts, fmt.Sprintf("%d rooted", *c.Rooted))
	}
	if c.PottingRoots != nil {
		parts = append(parts, fmt.Sprintf("%d of them with potting roots", *c.PottingRoots))
	}
	if c.Overlong != nil && *c.Overlong > 0 {
		parts = append(parts, fmt.Sprintf("%d of these too long", *c.Overlong))
	}
	if unrooted != nil {
		parts = append(parts, fmt.Sprintf("%d unrooted", *unrooted))
	}
	return parts
}

// losses lists losses in the order of the causes.
func losses(lost models.Losses) string {
	var parts []string
	for _, cause := range models.Causes {
		if n := lost[cause]; n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", n, cause.Words()))
		}
	}
	return strings.Join(parts, ", ")
}

// potted is a potting, with the live ones it left in the tray.
func potted(k *models.Potting, left int) string {
	var where []string
	for _, part := range []string{k.Container, k.Medium, k.Bench} {
		if part != "" {
			where = append(where, part)
		}
	}
	return fmt.Sprintf("%s %d", did(k.PottedBy, "potted"), k.Count) +
		told("", strings.Join(where, ", ")) + fmt.Sprintf("; %s left in the tray", models.Counted(left, "live one"))
}

func decided(d *models.Decision) string {
	what := map[models.Action]string{
		models.Keep:       "decided to keep it to " + d.UntilDay.String(),
		models.Restick:    "decided to stick the unrooted ones again",
		models.Discard:    "decided to throw out the unrooted ones",
		models.CloseBatch: "closed the batch",
	}[d.Action]
	return did(d.DecidedBy, what) + told("", d.Why)
}

func reviewed(v *models.Review) string {
	if v.Accepted {
		return did(v.ReviewedBy, "accepted the cut as it stands") + told("", v.Reason)
	}
	return did(v.ReviewedBy, "left the cut to review") + told("", v.Reason)
}
