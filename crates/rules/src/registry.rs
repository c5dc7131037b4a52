use drysheath_office::ProblemId;
use drysheath_syntax as syntax;
use strum::{EnumCount, EnumString, IntoStaticStr};

use crate::rule::Rule;
use crate::{air, grounds, hand_over, language, pairs, power, records, regulators, spans};

/// Declares an id for each rule, and the table of rules in the order of their ids.
macro_rules! rules {
    ($($family:ident { $($id:ident: $file:ident,)+ })+) => {
        /// Identity of a rule. Its number is its index in [`RULES`], its name the variant in kebab case.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, EnumCount, EnumString, IntoStaticStr)]
        #[strum(serialize_all = "kebab-case")]
        #[allow(missing_docs, reason = "what each rule is about stands in its own file")]
        pub enum RuleId {
            $($($id,)+)+
        }

        /// Every rule, by family.
        pub static RULES: [&Rule; RuleId::COUNT] = [$($(&$family::$file::RULE,)+)+];
    };
}

rules! {
    language {
        StatementUnreadable: statement_unreadable,
        NestingTooDeep: nesting_too_deep,
        NumberTooLong: number_too_long,
        CharacterPasted: character_pasted,
        CharacterInvisible: character_invisible,
        TextTooLarge: text_too_large,
        TextNotUtf8: text_not_utf8,
        KindUnknown: kind_unknown,
        NameUnknown: name_unknown,
        PortUnknown: port_unknown,
        RunBackwards: run_backwards,
        FieldMissing: field_missing,
        FieldUnknown: field_unknown,
        FieldTwice: field_twice,
        WordOutdated: word_outdated,
        ValueUnreadable: value_unreadable,
        ValueImplausible: value_implausible,
        UnitMissing: unit_missing,
        UnitUnknown: unit_unknown,
        UnitWrongDimension: unit_wrong_dimension,
        PartUnknown: part_unknown,
        PartChain: part_chain,
        PartAmbiguous: part_ambiguous,
        PartWrongKind: part_wrong_kind,
        StatementMisplaced: statement_misplaced,
        RouteEnd: route_end,
        UseNotFound: use_not_found,
        UseCycle: use_cycle,
        UseOutsideRepository: use_outside_repository,
        OfficeRepeated: office_repeated,
        AcceptanceVoid: acceptance_void,
        AcceptanceExpired: acceptance_expired,
        AcceptanceTooLong: acceptance_too_long,
        AcceptanceUnneeded: acceptance_unneeded,
        SettingsUnreadable: settings_unreadable,
        LanguageMissing: language_missing,
    }
    pairs {
        PairAssignedTwice: pair_assigned_twice,
        InputAssignedTwice: input_assigned_twice,
        SignalWiredTwice: signal_wired_twice,
        DeviceWithoutPair: device_without_pair,
        DryerWithoutContact: dryer_without_contact,
        BottlesWithoutContact: bottles_without_contact,
        InputWithoutSignal: input_without_signal,
        DeadEnd: dead_end,
        CablePairStranded: cable_pair_stranded,
        PairNotAtDevice: pair_not_at_device,
        SignalOnWrongInput: signal_on_wrong_input,
        LeadColoursTwice: lead_colours_twice,
        ConnectorsDoNotMate: connectors_do_not_mate,
        ConnectorMatedTwice: connector_mated_twice,
        OutputNotToControl: output_not_to_control,
        OutputOverloaded: output_overloaded,
        ControlVoltageShort: control_voltage_short,
        RangeLengthsDiffer: range_lengths_differ,
        PairOutOfRange: pair_out_of_range,
        CablePairOutOfRange: cable_pair_out_of_range,
        InputOutOfRange: input_out_of_range,
        ColoursContradictCode: colours_contradict_code,
        ContactsShareInput: contacts_share_input,
        PairNotSaidSpare: pair_not_said_spare,
        InputNotSaidSpare: input_not_said_spare,
        SpareInUse: spare_in_use,
        SpareOutOfRange: spare_out_of_range,
        AddressTwice: address_twice,
        AddressNotRead: address_not_read,
        PairNotFree: pair_not_free,
        PairStateTwice: pair_state_twice,
        PairTakenElsewhere: pair_taken_elsewhere,
        RestTwice: rest_twice,
        BunchWiredApart: bunch_wired_apart,
        PairStateIdle: pair_state_idle,
        RestEmpty: rest_empty,
        LineShared: line_shared,
        PrivateAddressTwice: private_address_twice,
        LoopOverLimit: loop_over_limit,
    }
    spans {
        SpanEmpty: span_empty,
        LimitOutsideSpan: limit_outside_span,
        LimitNearSpanEnd: limit_near_span_end,
        LimitsOutOfOrder: limits_out_of_order,
        LimitFinerThanStep: limit_finer_than_step,
        ErrorBelowStep: error_below_step,
        SensorRaisesNoAlarm: sensor_raises_no_alarm,
        LimitWithoutDeadband: limit_without_deadband,
        DeadbandPastNormal: deadband_past_normal,
        NormalOutsideMiddle: normal_outside_middle,
        LowLimitUnderMinimum: low_limit_under_minimum,
        HighLimitAboveRating: high_limit_above_rating,
        LowLimitTooLate: low_limit_too_late,
        SupplyAlarmTooLate: supply_alarm_too_late,
        ProofBelowSource: proof_below_source,
        PredictedOffSpan: predicted_off_span,
        PredictedOutsideMiddle: predicted_outside_middle,
        NormalNotAsPredicted: normal_not_as_predicted,
        LimitTripsWhenWell: limit_trips_when_well,
        LimitWithinError: limit_within_error,
        LeakTripsNoLimit: leak_trips_no_limit,
        CutTripsNoLimit: cut_trips_no_limit,
        FlowSpanTooWide: flow_span_too_wide,
        SecondLimitAlone: second_limit_alone,
        SwitchLimitTwice: switch_limit_twice,
        WetAirAlarmTooLate: wet_air_alarm_too_late,
    }
    regulators {
        RegulatorMissing: regulator_missing,
        RegulatorAfterSensor: regulator_after_sensor,
        RegulatorBackwards: regulator_backwards,
        RegulatorSetAboveSupply: regulator_set_above_supply,
        StandbyTooLow: standby_too_low,
        RegulatorOutOfRegulation: regulator_out_of_regulation,
        RegulatorFlowOverMax: regulator_flow_over_max,
        RegulatorInletOverMax: regulator_inlet_over_max,
        RegulatorSetAboveRating: regulator_set_above_rating,
        DryerAboveRating: dryer_above_rating,
        ReliefMisplaced: relief_misplaced,
        ReliefHeldOpen: relief_held_open,
        RegulatorsSameSet: regulators_same_set,
        OutletOpen: outlet_open,
        ManifoldPortOpen: manifold_port_open,
        AirPortOutOfRange: air_port_out_of_range,
        ReliefMissing: relief_missing,
    }
    grounds {
        FrameGroundMissing: frame_ground_missing,
        FrameGroundedTwice: frame_grounded_twice,
        GroundThroughChassis: ground_through_chassis,
        GroundNotToBar: ground_not_to_bar,
        GroundSharedWithReturn: ground_shared_with_return,
        GroundConductorSmall: ground_conductor_small,
        GroundRunUnsized: ground_run_unsized,
        BarNotBonded: bar_not_bonded,
        PrincipalBarMissing: principal_bar_missing,
        PrincipalBarTwice: principal_bar_twice,
    }
    power {
        LoadUnfed: load_unfed,
        PanelUnfed: panel_unfed,
        PolarityWrong: polarity_wrong,
        NominalWrong: nominal_wrong,
        WorkingWithoutNominal: working_without_nominal,
        BatteryUnfiltered: battery_unfiltered,
        FuseMissing: fuse_missing,
        FuseUnsized: fuse_unsized,
        FuseBelowLoad: fuse_below_load,
        FuseAboveWire: fuse_above_wire,
        WireLimitDoubtful: wire_limit_doubtful,
        WireNotChecked: wire_not_checked,
        FuseAboveSupply: fuse_above_supply,
        FuseNotSaidSpare: fuse_not_said_spare,
        FusePositionTwice: fuse_position_twice,
        FusePositionOutOfRange: fuse_position_out_of_range,
        PanelFedTwice: panel_fed_twice,
        PanelOverloaded: panel_overloaded,
        PanelUnprotected: panel_unprotected,
        VoltageBelowWindow: voltage_below_window,
        VoltageAboveWindow: voltage_above_window,
        VoltageRangeDoubtful: voltage_range_doubtful,
        SupplyStatedTwice: supply_stated_twice,
        SupplyUnrecorded: supply_unrecorded,
    }
    air {
        AirMissing: air_missing,
        DryerCapacityShort: dryer_capacity_short,
        DryerOverdrawn: dryer_overdrawn,
        DryerDutyCycleHigh: dryer_duty_cycle_high,
        SourceBackedUp: source_backed_up,
        StandbyNotBelow: standby_not_below,
        BottlesSoonEmpty: bottles_soon_empty,
        LoopWithoutValve: loop_without_valve,
        AirPortsDoubled: air_ports_doubled,
        FittingsDoNotMate: fittings_do_not_mate,
        ThreadStandardUnknown: thread_standard_unknown,
        TubesDoNotJoin: tubes_do_not_join,
        LossNotRising: loss_not_rising,
        LossCurveDoubtful: loss_curve_doubtful,
        FlowBeyondLoss: flow_beyond_loss,
        CableEndUnwatched: cable_end_unwatched,
        SensorBeyondCable: sensor_beyond_cable,
        PlacedTwice: placed_twice,
        SectionNeedsOneSurroundings: section_needs_one_surroundings,
        DepthOfAerial: depth_of_aerial,
        PressureBelowMinimum: pressure_below_minimum,
        PressureBelowWaterHead: pressure_below_water_head,
        PressureAboveRating: pressure_above_rating,
        UsageBeyondLines: usage_beyond_lines,
        AirNotComputed: air_not_computed,
        ExpectationUnmet: expectation_unmet,
        ExpectationNotKnown: expectation_not_known,
        FlowNotLaminar: flow_not_laminar,
        DewPointAboveColdest: dew_point_above_coldest,
        DryerMarginShort: dryer_margin_short,
        CheckValveMissing: check_valve_missing,
        DryerFeedsNothing: dryer_feeds_nothing,
        CutOutNotAbove: cut_out_not_above,
        DryerFarTooLarge: dryer_far_too_large,
        TemperaturesOutOfOrder: temperatures_out_of_order,
    }
    records {
        NameTwice: name_twice,
        NamesAlike: names_alike,
        NameMalformed: name_malformed,
        NameIsWord: name_is_word,
        OfficeMissing: office_missing,
        OfficeWithoutEquipment: office_without_equipment,
        SiteCodeMissing: site_code_missing,
        SiteCodeTwice: site_code_twice,
        OfficeNameTwice: office_name_twice,
        TitleMissing: title_missing,
        ElevationMissing: elevation_missing,
        StageMissing: stage_missing,
        RecordNotListed: record_not_listed,
        FormerNameTaken: former_name_taken,
        StageAhead: stage_ahead,
        PartUnused: part_unused,
        LimitWithoutSeverity: limit_without_severity,
        ContactCannotReportCutPair: contact_cannot_report_cut_pair,
        PredictionIncomplete: prediction_incomplete,
        ChecksLeftOut: checks_left_out,
        ReadingOffPrediction: reading_off_prediction,
        DecayAboveUsage: decay_above_usage,
        ReadingsWhilePlanned: readings_while_planned,
        DecayTestImpossible: decay_test_impossible,
        ReadingOffSpan: reading_off_span,
        GaugeOffPrediction: gauge_off_prediction,
        ContactNotHealthy: contact_not_healthy,
        DewPointReadWetter: dew_point_read_wetter,
        ReadingInFuture: reading_in_future,
    }
    hand_over {
        OfficeStillPlanned: office_still_planned,
        NoInputInUse: no_input_in_use,
        MonitorLinkMissing: monitor_link_missing,
        InputSignalUnclear: input_signal_unclear,
        HealthyStateMissing: healthy_state_missing,
        SpanMissing: span_missing,
        LimitMissing: limit_missing,
        LimitIncomplete: limit_incomplete,
        CablePairMissing: cable_pair_missing,
        BlockPairMissing: block_pair_missing,
        LoopUnknown: loop_unknown,
    }
}

/// Each rule is at the index given by its id.
#[expect(clippy::indexing_slicing, reason = "out of bounds here is an error of the compiler")]
const _: () = {
    let mut at = 0;
    while at < RULES.len() {
        assert!(RULES[at].id as usize == at, "a rule's file has the id of another rule");
        at += 1;
    }
};

impl From<RuleId> for usize {
    fn from(id: RuleId) -> Self {
        id as Self
    }
}

impl RuleId {
    /// The name used in settings and after `accept`.
    pub fn name(self) -> &'static str {
        self.into()
    }

    /// The rule with this id.
    #[expect(clippy::indexing_slicing, reason = "the table has one entry for each id")]
    pub fn rule(self) -> &'static Rule {
        RULES[self as usize]
    }
}

impl From<ProblemId> for RuleId {
    fn from(id: ProblemId) -> Self {
        match id {
            ProblemId::StatementUnreadable => Self::StatementUnreadable,
            ProblemId::NestingTooDeep => Self::NestingTooDeep,
            ProblemId::NumberTooLong => Self::NumberTooLong,
            ProblemId::TextTooLarge => Self::TextTooLarge,
            ProblemId::TextNotUtf8 => Self::TextNotUtf8,
            ProblemId::CharacterPasted => Self::CharacterPasted,
            ProblemId::CharacterInvisible => Self::CharacterInvisible,
            ProblemId::AcceptanceVoid => Self::AcceptanceVoid,
            ProblemId::FieldMissing => Self::FieldMissing,
            ProblemId::FieldTwice => Self::FieldTwice,
            ProblemId::FieldUnknown => Self::FieldUnknown,
            ProblemId::GroundNotToBar => Self::GroundNotToBar,
            ProblemId::KindUnknown => Self::KindUnknown,
            ProblemId::NameTwice => Self::NameTwice,
            ProblemId::NameUnknown => Self::NameUnknown,
            ProblemId::StatementMisplaced => Self::StatementMisplaced,
            ProblemId::RouteEnd => Self::RouteEnd,
            ProblemId::OfficeRepeated => Self::OfficeRepeated,
            ProblemId::PartAmbiguous => Self::PartAmbiguous,
            ProblemId::PartChain => Self::PartChain,
            ProblemId::PartUnknown => Self::PartUnknown,
            ProblemId::PartWrongKind => Self::PartWrongKind,
            ProblemId::PortUnknown => Self::PortUnknown,
            ProblemId::RunBackwards => Self::RunBackwards,
            ProblemId::UnitMissing => Self::UnitMissing,
            ProblemId::UnitUnknown => Self::UnitUnknown,
            ProblemId::UnitWrongDimension => Self::UnitWrongDimension,
            ProblemId::UseCycle => Self::UseCycle,
            ProblemId::UseNotFound => Self::UseNotFound,
            ProblemId::UseOutsideRepository => Self::UseOutsideRepository,
            ProblemId::ValueImplausible => Self::ValueImplausible,
            ProblemId::ValueUnreadable => Self::ValueUnreadable,
            ProblemId::WordOutdated => Self::WordOutdated,
        }
    }
}

impl From<syntax::ProblemId> for RuleId {
    fn from(id: syntax::ProblemId) -> Self {
        ProblemId::from(id).into()
    }
}

/// Names of rules in earlier languages, and the rules that replace them.
const FORMER: [(&str, RuleId); 1] = [("plugged-outlet-used", RuleId::SpareInUse)];

/// The rule that replaces one with that name in an earlier language.
pub fn renamed(name: &str) -> Option<&'static Rule> {
    let (_, id) = FORMER.iter().find(|(former, _)| *former == name)?;
    Some(id.rule())
}

/// Finds a rule by the name used in settings, acceptances and on the command line.
pub fn find(name: &str) -> Option<&'static Rule> {
    name.parse().ok().map(RuleId::rule)
}
