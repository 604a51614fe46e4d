"""The database's relations point the same way as the imports: down."""

import pytest
from django.apps import apps
from django.db import models

LAYERS = ["clients", "treatments", "services"]


def models_with_their_height():
    return [
        (model, height)
        for height, label in enumerate(LAYERS)
        for model in apps.get_app_config(label).get_models()
    ]


def own_relations(model):
    return [
        field
        for field in model._meta.get_fields()
        if field.is_relation and not field.auto_created and field.related_model
    ]


def test_no_relation_points_up():
    upward = [
        f"{model._meta.label}.{field.name}"
        for model, height in models_with_their_height()
        for field in own_relations(model)
        if field.related_model._meta.app_label in LAYERS[height + 1 :]
    ]

    assert upward == []


@pytest.mark.parametrize(
    "model",
    [model for model, _height in models_with_their_height()],
    ids=lambda model: model._meta.label,
)
def test_no_relation_is_generic(model):
    # A relation to any kind of thing would point up unseen.
    assert [field.name for field in model._meta.private_fields] == []


def test_every_relation_can_be_walked_back_by_a_name():
    nameless = [
        f"{model._meta.label}.{field.name}"
        for model, _height in models_with_their_height()
        for field in own_relations(model)
        if not field.remote_field.related_name
    ]

    assert nameless == []


def test_what_a_record_names_cannot_be_removed():
    record = apps.get_model("treatments", "ApplicationRecord")
    loose = [
        field.name
        for field in own_relations(record)
        if field.remote_field.on_delete is not models.PROTECT
    ]

    assert loose == []
