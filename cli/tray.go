package cli

import (
	"fmt"

	"github.com/spf13/cobra"

	"withybed/models"
)

// trayFlags are the details of a sticking.
func trayFlags(cmd *cobra.Command, tray *models.Tray) {
	treatmentFlags(cmd, tray)
	f := cmd.Flags()
	f.StringVar(&tray.Medium, "medium", "", "rooting medium; water is looked at sooner")
	f.StringVar(&tray.Container, "container", "", "tray, flat, jar or cell")
	f.StringVar(&tray.Bench, "bench", "", "bench it stands on")
	addValue(cmd, "bottom-heat", "yes|no|°C", "bottom heat: yes, no, or its temperature", func(text string) error {
		heat, err := parseHeat(text)
		tray.BottomHeat = &heat
		return err
	})
	f.BoolVar(&tray.Mist, "mist", false, "stands under mist")
	f.StringVar(&tray.StuckBy, "stuck-by", "", "who stuck them; initials do")
}

func treatmentFlags(cmd *cobra.Command, tray *models.Tray) {
	treatment := &models.Treatment{}
	text := func(to *string, name, help string) {
		addValue(cmd, name, "text", help, func(given string) error {
			*to, tray.Treatment = given, treatment
			return nil
		})
	}
	measure := func(to **float64, name, help string) {
		addValue(cmd, name, "number", help, func(given string) error {
			x, err := parseNumber(given)
			*to, tray.Treatment = &x, treatment
			return err
		})
	}
	addValue(cmd, "treatment", "text", "a name for the treatment, if the parts below do not say it; none for a control", func(given string) error {
		treatment.Name, tray.Treatment = models.NamedTreatment(given).Name, treatment
		return nil
	})
	measure(&treatment.SoakDays, "soak-days", "days soaked before sticking")
	text(&treatment.Wound, "wound", "how the base was wounded")
	text(&treatment.Auxin, "auxin", "auxin in the rooting preparation: follow its label and wear gloves")
	measure(&treatment.AuxinPPM, "auxin-ppm", "its strength in ppm")
	measure(&treatment.AuxinPercent, "auxin-percent", "its strength in percent: 0.3 is 3,000 ppm")
	read := parseWord(models.AuxinForms)
	addValue(cmd, "auxin-form", "word", "form of the preparation: "+models.OneOf(models.AuxinForms), func(given string) (err error) {
		treatment.AuxinForm, err = read(given)
		tray.Treatment = treatment
		return err
	})
	complete(cmd, "auxin-form", models.AuxinForms)
	measure(&treatment.WillowWaterGPerL, "willow-water-g-per-l", "willow water: grams of twigs in a litre")
	measure(&treatment.WillowWaterHours, "willow-water-hours", "willow water: hours the cuttings stood in it")
}

// parseHeat reads yes, no, or degrees Celsius.
func parseHeat(text string) (models.BottomHeat, error) {
	if heated, err := parseYesNo(text); err == nil {
		return models.BottomHeat{Recorded: true, Heated: heated}, nil
	}
	var heat models.BottomHeat
	if err := heat.UnmarshalJSON([]byte(text)); err != nil || heat.IsZero() {
		return heat, fmt.Errorf("is %q, and must be yes, no or a temperature from 5 to 45 °C", text)
	}
	return heat, nil
}
