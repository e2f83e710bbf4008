"""Writing what a vehicle is: VIN or chassis number, plate, colour."""

from shop.intake.customers import text_of
from shop.intake.models import Vehicle
from shop.record.actions import keep_private, told


def new_car(workshop, car, shape) -> Vehicle:
    vehicle = Vehicle(workshop=workshop, body=shape.name)
    put_identity(vehicle, car)
    return put_looks(vehicle, car)


def put_identity(vehicle, car) -> None:
    if vehicle.identity != car.identity or vehicle.vin_private is None:
        vehicle.vin_private = keep_private(vehicle.workshop, car.identity)
    vehicle.vin = car.vin or None
    vehicle.vin_note = car.vin_note
    vehicle.chassis, vehicle.chassis_reason = car.chassis, car.chassis_reason


def put_looks(vehicle, car) -> Vehicle:
    vehicle.model, vehicle.colour, vehicle.colour_code = car.model, car.colour, car.colour_code
    if text_of(vehicle.plate) != car.plate:
        vehicle.plate = keep_private(vehicle.workshop, car.plate) if car.plate else None
    vehicle.save()
    return vehicle


def vehicle_said(vehicle) -> dict:
    return {
        "vehicle": vehicle.pk,
        "identity": "vin" if vehicle.vin else "chassis",
        "number": told(vehicle.vin_private),
        "confirmed": vehicle.vin_note,
        "chassis_reason": vehicle.chassis_reason,
        "plate": told(vehicle.plate),
        "model": vehicle.model,
        "colour": vehicle.colour,
        "colour_code": vehicle.colour_code,
    }
