from django.urls import path

from bowlers.duplicates import views as duplicates
from bowlers.privacy import views as privacy
from bowlers.views import customers, deliveries, fittings, grips, measuring
from proshop.files.urls import addresses

urlpatterns = [
    *addresses("customers", "customers/"),
    path("customers/", customers.customer_list, name="customer-list"),
    path("customers/new/", customers.customer_add, name="customer-add"),
    path("customers/<int:pk>/", customers.customer, name="customer"),
    path("customers/duplicates/", duplicates.duplicates, name="customer-duplicates"),
    path("customers/<int:pk>/merge/", duplicates.merge_page, name="customer-merge"),
    path("customers/<int:pk>/two/", duplicates.tell_apart, name="customer-tell-apart"),
    path("customers/erased/", privacy.erased, name="customers-erased"),
    path("customers/<int:pk>/privacy/", privacy.privacy, name="customer-privacy"),
    path("customers/<int:pk>/everything.json", privacy.export_file, name="customer-export"),
    path("merges/<int:pk>/", duplicates.merged, name="customer-merged"),
    path("customers/<int:pk>/edit/", customers.customer_edit, name="customer-edit"),
    path("customers/<int:pk>/fittings/new/", fittings.fitting_add, name="fitting-add"),
    path("customers/<int:pk>/grips/", grips.grips, name="grips"),
    path("customers/<int:pk>/grips/new/", grips.grip_add, name="grip-add"),
    path("customers/<int:pk>/grips/drawn/", grips.grip_preview, name="grip-preview"),
    path("grips/<int:pk>/", grips.grip, name="grip"),
    path("grips/<int:pk>/edit/", grips.grip_edit, name="grip-edit"),
    path("fittings/<int:pk>/", fittings.fitting, name="fitting"),
    path("fittings/<int:pk>/edit/", fittings.fitting_edit, name="fitting-edit"),
    path("fittings/<int:pk>/finish/", fittings.fitting_finish, name="fitting-finish"),
    path("fittings/<int:pk>/reopen/", fittings.fitting_reopen, name="fitting-reopen"),
    path("fittings/<int:pk>/instruments/", fittings.instruments, name="fitting-instruments"),
    path("fittings/<int:pk>/ring/", measuring.ring, name="ring"),
    path("fittings/<int:pk>/ring/derived/", measuring.ring_derived, name="ring-derived"),
    path("fittings/<int:pk>/no-throw/", measuring.no_throw, name="no-throw"),
    path("fittings/<int:pk>/no-throw/keep/", measuring.no_throw_keep, name="no-throw-keep"),
    path(
        "fittings/<int:pk>/no-throw/derived/", measuring.no_throw_derived, name="no-throw-derived"
    ),
    path("fittings/<int:pk>/rows/derived/", deliveries.delivery_derived, name="delivery-derived"),
    path("fittings/<int:pk>/rows/", deliveries.delivery_save, name="delivery-save"),
    path("fittings/<int:pk>/rows/keep/", deliveries.delivery_keep, name="delivery-keep"),
    path("fittings/<int:pk>/rows/again/", deliveries.delivery_again, name="delivery-again"),
    path("deliveries/<int:pk>/drop/", deliveries.delivery_drop, name="delivery-drop"),
    path("deliveries/<int:pk>/restore/", deliveries.delivery_restore, name="delivery-restore"),
    path("deliveries/<int:pk>/confirm/", deliveries.delivery_confirm, name="delivery-confirm"),
]
