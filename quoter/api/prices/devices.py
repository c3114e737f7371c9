"""Devices: found by words, and what is offered for each."""

from typing import Any

from flask import Blueprint, Response
from marshmallow import fields, validate

from quoter.api.http.answers import DevicePageSchema, DeviceSchema
from quoter.api.http.conditions import conditional
from quoter.api.http.fields import code
from quoter.api.http.locale import reader_locale
from quoter.api.http.operations import Answer, Operation, json_answer, operation
from quoter.api.http.paging import LINK, MOST_WORDS, PageQuery, key_of, next_link
from quoter.api.http.services import services
from quoter.api.prices.prices import BookQuery
from quoter.book import Device, Finding, RateBook
from quoter.service.rates.devices import device_named, devices_matching, findings_for

blueprint = Blueprint("devices", __name__)

EVERYONE = ("desk", "form", "owner")


class DevicesQuery(PageQuery, BookQuery):
    """Which devices."""

    words = fields.String(
        load_default="",
        validate=validate.Length(max=MOST_WORDS),
        metadata={
            "description": "Of maker, model, year, code or kind, in any order; unfinished and misspelt words will do"
        },
    )
    kind = code(load_default=None, metadata={"description": "phone, tablet, wearable"})


@operation(
    blueprint,
    Operation(
        id="listDevices",
        method="GET",
        path="/v1/devices",
        summary="Find devices",
        description="The best match first; without words, the owner's order. The header Link leads to the next page.",
        scopes=EVERYONE,
        query=DevicesQuery(),
        answers={200: Answer("A page of devices", DevicePageSchema(), headers=LINK)},
        problems=(404, 422),
    ),
)
def list_devices(query: dict[str, Any]) -> Response:
    """A page of devices."""
    book = services().shelf.named(query["book"]).book
    found = devices_matching(query["words"], query["kind"], book)
    codes = [device.code for device in found]
    after = key_of(query["after"], codes.__contains__)
    start = 0 if after is None else codes.index(after) + 1
    end = start + query["limit"]
    headers = next_link(codes[end - 1]) if end < len(found) else {}
    return json_answer({"devices": [_summary(device) for device in found[start:end]]}, headers=headers)


class DeviceQuery(BookQuery):
    """Of which rates, in which words."""

    locale = fields.String(load_default=None, metadata={"description": "BCP 47 tag; else as the browser likes it"})


@operation(
    blueprint,
    Operation(
        id="readDevice",
        method="GET",
        path="/v1/devices/{code}",
        summary="What is offered for a device",
        description="Procedures with the parts that fit, the preferred one first, and what may be found on the device.",
        scopes=EVERYONE,
        query=DeviceQuery(),
        answers={200: Answer("The device", DeviceSchema(), headers={"ETag": "Of all that is told"})},
        problems=(404, 422),
    ),
)
def read_device(code: str, query: dict[str, Any]) -> Response:
    """One device."""
    book = services().shelf.named(query["book"]).book
    offer = offer_of(device_named(code, book), book, reader_locale(book.locale, query["locale"]))
    return conditional(json_answer(offer, headers={"Vary": "Accept-Language"}))


def offer_of(device: Device, book: RateBook, tag: str) -> dict[str, Any]:
    """A device with what is offered for it, in a language, and how the shop is reached about it."""
    shop = book.shop
    return _summary(device) | {
        "procedures": [_procedure(device, procedure, book, tag) for procedure in book.offered[device.code]],
        "findings": [_finding(finding, book, tag) for finding in findings_for(device.code, book)],
        "shop": {"name": shop.name, "phone": shop.phone, "email": shop.email},
    }


def _summary(device: Device) -> dict[str, Any]:
    return {
        "code": device.code,
        "maker": device.maker,
        "model": device.model,
        "kind": device.kind,
        "year": device.year,
    }


def _procedure(device: Device, code: str, book: RateBook, tag: str) -> dict[str, Any]:
    procedure = book.procedures[code]
    parts = book.parts_for(device.code, procedure.slot) if procedure.slot else ()
    return {
        "procedure": code,
        "title": book.text_in(tag, ("procedures", code, "title"), procedure.title),
        "slot": procedure.slot,
        "parts": [
            {
                "sku": part.sku,
                "title": book.text_in(tag, ("parts", part.sku, "title"), part.title),
                "grade": part.grade,
                "grade_title": book.text_in(tag, ("grades", part.grade, "title"), part.grade),
                "lead_days": part.lead_days,
            }
            for part in parts
        ],
    }


def _finding(finding: Finding, book: RateBook, tag: str) -> dict[str, Any]:
    caution = book.cautions[finding.caution] if finding.caution else None
    text = book.text_in(tag, ("cautions", caution.code, "text"), caution.text) if caution else None
    told = book.text_in(tag, ("cautions", caution.code, "customer"), caution.customer) if caution else None
    return {
        "code": finding.code,
        "title": book.text_in(tag, ("findings", finding.code, "title"), finding.title),
        "stops": finding.stops,
        "caution": text,
        "caution_for_customer": told or text,
    }
