"""Every table with the model of its rows, and every rule."""

from collections.abc import Mapping

from knowledge.drain import rows as drain_rows
from knowledge.drain.rules import LEFTOVER_RULES
from knowledge.faq import FaqRow
from knowledge.judging.column_rule import ColumnRule
from knowledge.judging.rules import RULES
from knowledge.jug.rules.label import LABEL_RULES
from knowledge.loading import custom_rows, facing_rows, fluid_rows, scales, schema
from knowledge.rule import Rule
from knowledge.shift.rules.shift import SHIFT_RULES
from knowledge.symptom import rows as symptom_rows

MODELS: Mapping[str, type[schema.Row]] = {
    "sources.toml": schema.SourceRow,
    "families.toml": fluid_rows.FamilyRow,
    "facings.toml": facing_rows.FacingRow,
    "bodies.toml": facing_rows.BodyRow,
    "lubricants.csv": fluid_rows.LubricantRow,
    "sold_by_region.csv": fluid_rows.RegionRow,
    "aliases.csv": fluid_rows.AliasRow,
    "bare_grades.csv": fluid_rows.BareGradeRow,
    "facing_families.csv": facing_rows.FacingFamilyRow,
    "ring_lands.csv": facing_rows.RingLandRow,
    "friction.csv": facing_rows.FrictionRow,
    "defaults.csv": schema.DefaultRow,
    "thresholds.csv": schema.ThresholdRow,
    "duties.csv": schema.DutyRow,
    "unknowns.toml": schema.UnknownRow,
    "plausible_values.csv": schema.PlausibleValueRow,
    "cautions.toml": schema.CautionRow,
    "outcomes.csv": schema.OutcomeRow,
    "words.toml": schema.WordRow,
    "sae_j306.csv": scales.J306Row,
    "sae_j300.csv": scales.J300Row,
    "iso_3448.csv": scales.IsoRow,
    "astm_d2270.csv": scales.ReferenceOilRow,
    "copper_strip.csv": scales.CopperStripRow,
    "facing_limits.csv": facing_rows.FacingLimitRow,
    "facing_thermal.csv": facing_rows.FacingThermalRow,
    "friction_by_fluid.csv": facing_rows.FrictionByFluidRow,
    "shift_bounds.csv": facing_rows.ShiftBoundRow,
    "box_kinds.toml": custom_rows.BoxKindRow,
    "how_often.csv": custom_rows.HowOftenRow,
    "ring_looks.csv": custom_rows.RingLookRow,
    "usual_fills.csv": custom_rows.UsualFillRow,
    "mixing.csv": drain_rows.MixingRow,
    "change_intervals.csv": drain_rows.IntervalRow,
    "running_in.csv": drain_rows.RunningInRow,
    "symptoms.toml": symptom_rows.SymptomRow,
    "suspects.toml": symptom_rows.SuspectRow,
    "evidence.csv": symptom_rows.EvidenceRow,
    "checks.toml": symptom_rows.CheckRow,
    "faq.toml": FaqRow,
}
EVERY_RULE: tuple[Rule | ColumnRule, ...] = (*RULES, *LABEL_RULES, *LEFTOVER_RULES, *SHIFT_RULES)
