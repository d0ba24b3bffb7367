//! The ids of everything that has a row. They stand together so that a room can point at another
//! room's thing without knowing the room.

crate::ids! {
    SiteId;
    PersonId;
    SkillId;
    SessionId;
    TabletId;
    SignInLinkId;
    ApiTokenId;
    TrainingId;
    LogbookId;
    RoomId;
    SystemId;
    ReservoirId;
    BenchId;
    PumpId;
    TubingRunId;
    BucketTestId;
    MeasuredFillId;
    FlowTestId;
    JugId;
    ProductId;
    LotId;
    AssayId;
    StockEntryId;
    PlantingId;
    MethodId;
    MethodVersionId;
    CleanoutId;
    WaterEntryId;
    HazardBandId;
    PlanId;
    UsualWeekId;
    UnusualDaysId;
    WaterSupplyId;
    KitId;
    GaugeId;
    DeliveryId;
    StorageBandId;
    StoreId;
    SafetySheetId;
    TroubleId;
    LetGoId;
}
