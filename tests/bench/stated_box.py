"""The box that the benches ask about: everything stated but its temperatures."""

STATED = {
    "rings": [{"facing": "bronze", "body": "bronze", "cones": 1, "condition": "new"}],
    "yellow_metal": True,
    "final_drive": "none",
    "limited_slip": False,
    "wet_clutch": False,
    "duty": "street",
}
